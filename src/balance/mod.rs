//! Whites and balances: the presets, the balance a photo was taken with, the light that follows
//! from it, and how far each preset would miss that light.

mod as_shot;
mod light;
mod loci;
mod miss;
mod presets;
mod white;

pub use as_shot::{AsShot, AsShotError, BalanceSource};
pub use light::{light_of, neutral_in};
pub use loci::distance_off_loci;
pub use miss::{Miss, appearance};
pub use presets::{Preset, PresetError, PresetTable, light_source_name};
pub use white::White;
