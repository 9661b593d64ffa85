//! A field as filled bands: levels, colours, outlines.

use crate::report::axis::Placed;
use crate::report::axis::round_values;
use crate::report::figure::Field;
use crate::report::isoband::Area;
use crate::report::isoband::Grid;
use crate::report::isoband::at_least;
use crate::report::palette::Colour;
use crate::report::palette::Map;

/// Number of levels aimed at.
const LEVELS: usize = 8;

/// Bands of one field, in places on the page.
pub struct Bands {
    /// Values between bands, rising.
    pub levels: Vec<f64>,
    /// One more than levels.
    pub colours: Vec<Colour>,
    /// Everything with a value, then what is at least each level.
    pub areas: Vec<Area>,
    /// Corners of the sampled rectangle.
    pub extent: [[f64; 2]; 2],
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
        let grid = placed(field, x, y);
        let base = field.none_below.unwrap_or(f64::NEG_INFINITY);
        let mut areas = vec![at_least(&grid, base)];
        areas.extend(levels.iter().map(|it| at_least(&grid, it.max(base))));
        Bands {
            colours: colours(field.map, &levels),
            levels,
            areas,
            extent: extent(&grid),
        }
    }

    /// Whether some sample has no value.
    pub fn leaves_out(field: &Field) -> bool {
        field.values.iter().any(|it| !has_value(field, *it))
    }
}

fn has_value(field: &Field, value: f64) -> bool {
    value.is_finite() && field.none_below.is_none_or(|it| it <= value)
}

/// Samples with their places; those without place lose their value.
fn placed(field: &Field, x: &Placed, y: &Placed) -> Grid {
    let columns = field.x.len();
    let places_x: Vec<Option<f64>> = field.x.iter().map(|it| x.place(*it)).collect();
    let places_y: Vec<Option<f64>> = field.y.iter().map(|it| y.place(*it)).collect();
    let mut values = field.values.clone();
    values.resize(columns * field.y.len(), f64::NAN);
    for (i, value) in values.iter_mut().enumerate() {
        if places_x[i % columns].is_none() || places_y[i / columns].is_none() {
            *value = f64::NAN;
        }
    }
    Grid {
        x: places_x.into_iter().map(|it| it.unwrap_or(0.0)).collect(),
        y: places_y.into_iter().map(|it| it.unwrap_or(0.0)).collect(),
        values,
    }
}

fn extent(grid: &Grid) -> [[f64; 2]; 2] {
    let ends = |places: &[f64]| {
        places
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), it| {
                (low.min(*it), high.max(*it))
            })
    };
    let (x, y) = (ends(&grid.x), ends(&grid.y));
    [[x.0, y.0], [x.1, y.1]]
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
