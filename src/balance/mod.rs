//! Whites and balances: the presets, the balance a photo was taken with, the light that follows
//! from it, how far each preset would miss that light, and the gels that bring lights together.

mod as_shot;
mod gels;
mod kelvin_number;
mod light;
mod loci;
mod miss;
mod presets;
mod toml_table;
mod white;

pub use as_shot::{AsShot, AsShotError, BalanceSource};
pub use gels::{Gel, GelError, GelKind, GelTable};
pub(crate) use kelvin_number::{kelvin_number, rough_kelvin_number};
pub use light::{light_of, neutral_in, neutral_in_srgb};
pub use loci::distance_off_loci;
pub use miss::{HARDLY_SHOWS_MIRED, Miss, appearance};
pub(crate) use miss::{looks, looks_in_a_sentence};
pub use presets::{Preset, PresetError, PresetTable, light_source_name, preset_in_words};
pub use white::White;
