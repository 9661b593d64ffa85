//! Tests of `report`: figures and pages by what they draw, not by how.

mod axis;
mod cautions;
mod drawn;
mod figures;
mod isoband;
mod melt;
mod page;
mod palette;
mod placing;
mod random;
mod sample;
mod side_by_side;
mod table;
