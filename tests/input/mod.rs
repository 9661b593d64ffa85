//! Tests of `input`.

mod colour_file;

pub mod damage;
mod fuzz;
mod jcamp;
mod joint_file;
mod library;
mod material_file;
mod messages;
mod percent;
mod plaques;
mod properties;
mod quantity;
mod spectrum_file;

mod trials;
