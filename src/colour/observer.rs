//! The CIE standard observers and illuminant D65, every 1 nm from 360 to 830 nm.
//!
//! The numbers stand in `cie.csv` with their sources: ISO/CIE 11664-1 (observers of 1931 and 1964)
//! and ISO/CIE 11664-2 (D65).
//!
//! Checked in: `tests/colour/tristimulus.rs` against the published white points.

use std::sync::LazyLock;

/// First wavelength of the tables, nm.
pub const FIRST_NM: usize = 360;

/// Last wavelength of the tables, nm.
pub const LAST_NM: usize = 830;

/// Entries of the tables.
pub const ENTRIES: usize = LAST_NM - FIRST_NM + 1;

/// Whose eye.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Observer {
    /// CIE 1931: fields up to 4°.
    TwoDegrees,
    /// CIE 1964: fields above 4°; usual for plastics.
    TenDegrees,
}

impl Observer {
    /// Both, the older one first.
    pub const ALL: [Observer; 2] = [Observer::TwoDegrees, Observer::TenDegrees];

    /// "2°" or "10°".
    pub fn name(self) -> &'static str {
        match self {
            Observer::TwoDegrees => "2°",
            Observer::TenDegrees => "10°",
        }
    }

    /// x̄, ȳ, z̄ at an entry of the tables.
    pub fn matching(self, row: &Row) -> [f64; 3] {
        match self {
            Observer::TwoDegrees => row.two_degrees,
            Observer::TenDegrees => row.ten_degrees,
        }
    }
}

/// One wavelength of the tables.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Wavelength, nm.
    pub wavelength_nm: f64,
    /// x̄, ȳ, z̄ of the observer of 1931.
    pub two_degrees: [f64; 3],
    /// x̄, ȳ, z̄ of the observer of 1964.
    pub ten_degrees: [f64; 3],
    /// Relative power of D65.
    pub d65: f64,
}

static TABLE: LazyLock<Vec<Row>> = LazyLock::new(|| {
    include_str!("cie.csv")
        .lines()
        .filter(|line| !line.starts_with('#'))
        .filter_map(row)
        .collect()
});

/// The tables; [`ENTRIES`] rows, which a test counts.
pub fn table() -> &'static [Row] {
    &TABLE
}

fn row(line: &str) -> Option<Row> {
    let cells: Vec<f64> = line
        .split(',')
        .map(|it| it.trim().parse().ok())
        .collect::<Option<_>>()?;
    match cells[..] {
        [wavelength_nm, x2, y2, z2, x10, y10, z10, d65] => Some(Row {
            wavelength_nm,
            two_degrees: [x2, y2, z2],
            ten_degrees: [x10, y10, z10],
            d65,
        }),
        _ => None,
    }
}
