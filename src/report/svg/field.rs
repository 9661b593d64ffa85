//! A field as filled bands: levels, colours, outlines.

use crate::report::axis::Placed;
use crate::report::axis::round_values;
use crate::report::figure::Field;
use crate::report::isoband::Area;
use crate::report::isoband::Lattice;
use crate::report::palette::Colour;
use crate::report::palette::Map;

/// Number of levels aimed at.
const LEVELS: usize = 8;
/// Longest straight piece of an isoline, px, about.
const STEP_PX: f64 = 3.0;

/// Bands of one field, in places on the page.
pub struct Bands {
    /// Values between bands, rising.
    pub levels: Vec<f64>,
    /// One more than levels.
    pub colours: Vec<Colour>,
    /// Everything with a value, then what is at least each level.
    pub areas: Vec<Area>,
    /// Upper left and lower right corner of the sampled rectangle.
    pub extent: [[f64; 2]; 2],
    /// Whether some sample has no value, other than those of which nothing is known.
    pub leaves_out: bool,
    /// Where nothing is known.
    pub unknown: Option<Area>,
}

impl Bands {
    pub fn new(field: &Field, x: &Placed, y: &Placed) -> Self {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for value in field.values.iter().filter(|it| has_value(field, **it)) {
            low = low.min(*value);
            high = high.max(*value);
        }
        let mut levels = field.levels.clone();
        levels.retain(|it| it.is_finite());
        levels.sort_by(f64::total_cmp);
        levels.dedup();
        if levels.is_empty() && low < high {
            levels = round_values(low, high, LEVELS);
        }
        // Levels nobody reaches make empty bands in the bar.
        levels.retain(|it| low < *it && *it < high);
        let base = field.none_below.unwrap_or(f64::NEG_INFINITY);
        let (lattice, extent) = placed(field, x, y);
        let mut areas = vec![lattice.at_least(base)];
        areas.extend(levels.iter().map(|it| lattice.at_least(it.max(base))));
        Bands {
            colours: colours(field.map, &levels),
            levels,
            areas,
            extent,
            leaves_out: Bands::leaves_out(field),
            unknown: unknown(field, x, y),
        }
    }

    /// Whether some sample has no value, other than those of which nothing is known.
    pub fn leaves_out(field: &Field) -> bool {
        let unknown = |at| field.unknown.as_ref().is_some_and(|it| it.places[at]);
        field
            .values
            .indexed_iter()
            .any(|(at, value)| !has_value(field, *value) && !unknown(at))
    }

    /// What is said of places of which nothing is known, where there are some.
    pub fn unknown_label(field: &Field) -> Option<&str> {
        let it = field.unknown.as_ref()?;
        it.places.iter().any(|it| *it).then_some(it.label.as_str())
    }
}

/// Where nothing is known, up to the nearest samples of which something is.
fn unknown(field: &Field, x: &Placed, y: &Placed) -> Option<Area> {
    Bands::unknown_label(field)?;
    let places = &field.unknown.as_ref()?.places;
    let share = Field {
        values: places.mapv(|it| if it { 1.0 } else { 0.0 }),
        ..field.clone()
    };
    Some(placed(&share, x, y).0.at_least(1e-3))
}

fn has_value(field: &Field, value: f64) -> bool {
    value.is_finite() && field.none_below.is_none_or(|it| it <= value)
}

/// The field over places, fine enough for smooth lines, and the rectangle it covers. Samples
/// without place lose their value.
fn placed(field: &Field, x: &Placed, y: &Placed) -> (Lattice, [[f64; 2]; 2]) {
    let places_x: Vec<Option<f64>> = field.x.iter().map(|it| x.place(*it)).collect();
    let places_y: Vec<Option<f64>> = field.y.iter().map(|it| y.place(*it)).collect();
    let mut values = field.values.clone();
    for ((row, column), value) in values.indexed_iter_mut() {
        let place = |places: &[Option<f64>], i: usize| places.get(i).copied().flatten();
        if place(&places_y, row).is_none() || place(&places_x, column).is_none() {
            *value = f64::NAN;
        }
    }
    let known = |places: Vec<Option<f64>>| -> Vec<f64> {
        places.into_iter().map(|it| it.unwrap_or(0.0)).collect()
    };
    let (across, down) = (known(places_x), known(places_y));
    let ([left, right], [top, bottom]) = (ends(&across), ends(&down));
    let lattice = Lattice::new(&across, &down, values.view());
    let parts = [parts(&across, right - left), parts(&down, bottom - top)];
    (lattice.refined(parts), [[left, top], [right, bottom]])
}

fn ends(places: &[f64]) -> [f64; 2] {
    let low = places.iter().copied().fold(f64::INFINITY, f64::min);
    let high = places.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    [low, high]
}

/// Into how many parts each step between samples is cut.
fn parts(places: &[f64], length: f64) -> usize {
    let steps = places.len().saturating_sub(1).max(1) as f64;
    (length / steps / STEP_PX).ceil().clamp(1.0, 12.0) as usize
}

fn colours(map: Map, levels: &[f64]) -> Vec<Colour> {
    let bands = levels.len() + 1;
    // A signed map keeps its middle at zero, whatever the levels.
    let negative = match map {
        Map::Signed => levels.iter().filter(|it| **it <= 0.0).count(),
        Map::Dusk | Map::Water => 0,
    };
    let middle = |band: usize, of: usize| (band as f64 + 0.5) / of as f64;
    (0..bands)
        .map(|band| {
            map.colour(match map {
                Map::Signed if band < negative => 0.5 * middle(band, negative),
                Map::Signed => 0.5 + 0.5 * middle(band - negative, bands - negative),
                Map::Dusk | Map::Water => middle(band, bands),
            })
        })
        .collect()
}
