//! Maps: every cell is the single weld it stands for; questions without meaning are refused.

use approx::assert_relative_eq;
use lightseam::study::Silent;
use lightseam::study::power_limits::{MAP_TOLERANCE, Scope, power_limits};
use lightseam::study::survey::{Axis, Field, Plan, spaced, survey};
use lightseam::weld::{Settings, simulate};

use crate::support::joints;

fn plan(x: Axis, y: Axis, field: Field) -> Plan {
    let values = |axis: Axis| match axis {
        Axis::Wavelength => spaced(800e-9, 2000e-9, 7, false),
        Axis::UpperThickness => spaced(0.5e-3, 4e-3, 5, false),
        Axis::Speed => spaced(0.01, 0.2, 5, true),
        Axis::Passes | Axis::Turns => vec![2.0, 5.0, 12.0],
        Axis::Time => spaced(0.2, 5.0, 4, true),
        Axis::PowerDensity => spaced(1e5, 3e6, 4, true),
        Axis::Power => spaced(1.0, 30.0, 6, true),
        Axis::Gap => vec![0.0, 20e-6],
        Axis::AbsorberContent => spaced(0.0005, 0.01, 4, true),
    };
    Plan {
        x: (x, values(x)),
        y: (y, values(y)),
        field,
    }
}

#[test]
fn every_cell_is_the_weld_it_stands_for() {
    let joint = joints::clear_on_black();
    let pairs = [
        (Axis::Wavelength, Axis::UpperThickness),
        (Axis::Power, Axis::Speed),
        (Axis::AbsorberContent, Axis::Power),
    ];
    for (x, y) in pairs {
        for field in [Field::InterfacePeak, Field::Margin] {
            let plan = plan(x, y, field);
            let map = survey(&joint, &plan, &Settings::standard(), &Silent).unwrap();
            for (row, &at_y) in plan.y.1.iter().enumerate().step_by(2) {
                for (column, &at_x) in plan.x.1.iter().enumerate().step_by(3) {
                    let one = x.apply(&y.apply(&joint, at_y).unwrap(), at_x).unwrap();
                    let outcome = simulate(&[one], &Settings::standard()).remove(0).unwrap();
                    let expected = match field {
                        Field::InterfacePeak => outcome.history.interface_peak_upper_k,
                        _ => {
                            let margins = outcome.criteria.iter().map(|it| it.margin);
                            margins.fold(f64::INFINITY, f64::min)
                        }
                    };
                    let cell = map.cells[row][column].as_ref().unwrap();
                    assert_relative_eq!(cell.value.unwrap(), expected);
                    assert_eq!(cell.verdict, Some(outcome.verdict));
                }
            }
        }
    }
}

#[test]
fn latitude_of_a_cell_is_that_of_the_joint() {
    let joint = joints::clear_on_black();
    let plan = plan(Axis::UpperThickness, Axis::Speed, Field::Latitude);
    let map = survey(&joint, &plan, &Settings::standard(), &Silent).unwrap();
    let one = Axis::Speed
        .apply(
            &Axis::UpperThickness.apply(&joint, plan.x.1[2]).unwrap(),
            plan.y.1[3],
        )
        .unwrap();
    let direct = power_limits(
        &[one],
        Scope::of_map(map.power_w),
        &Settings::standard(),
        &Silent,
    )
    .remove(0)
    .unwrap();
    let cell = map.cells[3][2].as_ref().unwrap();
    // The search of a map starts from neighbours: the same limits within the tolerance of maps.
    let limits = cell.limits.unwrap();
    for (of_map, direct) in [(limits.low, direct.low), (limits.high, direct.high)] {
        assert_eq!(of_map.rule(), direct.rule());
        let ratio = of_map.power_w().unwrap() / direct.power_w().unwrap();
        assert!(ratio.ln().abs() < MAP_TOLERANCE, "{ratio}");
    }
    assert_eq!(cell.value, limits.latitude());
}

#[test]
fn a_cell_outside_the_spectrum_says_so_and_leaves_the_rest() {
    let joint = joints::clear_on_black();
    let plan = Plan {
        x: (Axis::Wavelength, vec![980e-9, 2400e-9]),
        y: (Axis::UpperThickness, vec![1e-3, 2e-3]),
        field: Field::InterfacePeak,
    };
    let map = survey(&joint, &plan, &Settings::standard(), &Silent).unwrap();
    for row in &map.cells {
        assert!(row[0].is_ok());
        let message = row[1].as_ref().unwrap_err().to_string();
        assert!(message.contains("2400 nm"), "{message}");
    }
}

#[test]
fn maps_without_meaning_are_refused() {
    let joint = joints::clear_on_black();
    for (x, y, field) in [
        (Axis::Speed, Axis::Speed, Field::Margin),
        (Axis::Power, Axis::Speed, Field::Latitude),
    ] {
        let refused = survey(&joint, &plan(x, y, field), &Settings::standard(), &Silent);
        assert!(refused.unwrap_err().cure_text().is_some());
    }
    let mut clear = joints::clear_on_black();
    clear.lower.absorber = None;
    let plan = plan(Axis::AbsorberContent, Axis::Speed, Field::Margin);
    assert!(survey(&clear, &plan, &Settings::standard(), &Silent).is_err());
}
