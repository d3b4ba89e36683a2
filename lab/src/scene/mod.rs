//! A potter's studio and a way to photograph it: window light, hanging lamps, a strip lamp over the kiln, a white card.
//!
//! Light is followed along paths as sixteen-band spectra, apart for each group of lights; the lights' own spectra and
//! the sensor's sensitivities are on the full 5 nm grid. So what a camera sees, and what light falls on the card, come
//! from the same spectra.

mod bands;
mod builder;
mod bvh;
mod card;
mod card_face;
mod denoise;
mod furniture;
mod kiln;
mod layers;
mod light;
mod material;
mod mesh;
mod palette;
mod pots;
mod room;
mod texture;
mod tracer;
mod vec3;
mod view;

use builder::Builder;
use bvh::Bvh;
use tracer::Tracer;

use crate::colorimetry::xyz;
use crate::error::LabError;
use crate::sensor::Sensor;
use crate::spectrum::Spectrum;

pub use card::CardPlace;
pub use card_face::Marks;
pub use layers::{Layers, Quality};
pub use light::{GROUPS, LAMPS, Light, STRIP, SUN, WINDOW};
pub use material::Finish;
pub use vec3::{Vec3, vec3};
pub use view::View;

/// A thing that may stand in the studio besides what always does.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Prop {
    /// A board in the light; it throws a shadow with an edge.
    Board {
        /// Middle of the board.
        centre: Vec3,
        /// Width, height and thickness.
        size: Vec3,
        /// Turn about the vertical axis, radians.
        turn: f32,
    },
    /// A thumb that holds the card, from the palm to the tip.
    Thumb {
        /// Where it comes from.
        from: Vec3,
        /// Its tip.
        tip: Vec3,
    },
    /// An extra hanging lamp of the lamps' group.
    Lamp {
        /// Middle of its bulb.
        bulb: Vec3,
    },
}

/// The spectra and levels of the studio's lights; those left out are off.
#[derive(Debug, Clone, Default)]
pub struct Lighting {
    groups: [Option<Spectrum>; GROUPS],
}

impl Lighting {
    /// No light.
    #[must_use]
    pub fn dark() -> Self {
        Self::default()
    }

    /// With one group of lights switched on: its spectrum, and its level, where 1 is that group's usual one.
    ///
    /// # Errors
    /// [`LabError::Colour`] where the spectrum is not finite.
    pub fn with(mut self, group: usize, spectrum: &Spectrum, level: f64) -> Result<Self, LabError> {
        let luminance = xyz(spectrum)?.y;
        if let Some(slot) = self.groups.get_mut(group) {
            *slot = Some(spectrum.scaled(level / luminance));
        }
        Ok(self)
    }
}

/// The studio, lit, ready to be photographed.
#[derive(Debug)]
pub struct Studio {
    tracer: Tracer,
}

impl Studio {
    /// The studio under some lights, with a card or without, and what else stands there.
    #[must_use]
    pub fn new(lighting: &Lighting, card: Option<&CardPlace>, props: &[Prop]) -> Self {
        let mut builder = Builder::default();
        room::build(&mut builder);
        furniture::build(&mut builder);
        kiln::build(&mut builder);
        for prop in props {
            furniture::add_prop(&mut builder, prop);
        }
        if let Some(card) = card {
            card.add_to(&mut builder.mesh, &mut builder.materials);
        }
        let Builder { mesh, materials, emitters } = builder;
        let mut emitters = emitters.into_iter();
        let lights = lighting.groups.map(|spectrum| {
            let emitters = emitters.next().unwrap_or_default();
            spectrum.map(|spectrum| Light { spectrum, emitters })
        });
        Self { tracer: Tracer { bvh: Bvh::new(mesh.triangles), materials, lights } }
    }

    /// What a sensor sees of a view.
    #[must_use]
    pub fn photographed(&self, view: &View, sensor: &Sensor, quality: Quality) -> Layers {
        Layers::render(&self.tracer, view, sensor, quality)
    }

    /// The light that falls on a place from the side its normal points to: all groups together, and each alone.
    ///
    /// It includes what comes by way of walls and things. The scale is the scene's.
    #[must_use]
    pub fn light_at(
        &self,
        place: Vec3,
        normal: Vec3,
        paths: u32,
    ) -> (Spectrum, [Spectrum; GROUPS]) {
        let normal = normal.unit();
        let arriving = self.tracer.probe(place + normal * 0.002, normal, paths, 1);
        let groups: [Spectrum; GROUPS] = std::array::from_fn(|group| {
            self.tracer.lights[group].as_ref().map_or(Spectrum::flat(0.0), |light| {
                light.spectrum.times(&bands::to_spectrum(&arriving[group]))
            })
        });
        let sum = groups.iter().fold(Spectrum::flat(0.0), |sum, group| sum.plus(group));
        (sum, groups)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colorimetry::cct_duv;

    fn view() -> View {
        View {
            eye: vec3(0.3, 1.5, 0.9),
            target: vec3(-0.2, 1.0, -3.2),
            angle_degrees: 58.0,
            aperture: 0.0,
            focus: None,
            roll: 0.0,
        }
    }

    fn small() -> Quality {
        Quality { width: 24, height: 16, samples: 2, seed: 4 }
    }

    #[test]
    fn rendering_is_the_same_every_time_and_on_any_number_of_threads()
    -> Result<(), Box<dyn std::error::Error>> {
        let lighting = Lighting::dark().with(WINDOW, &Spectrum::daylight(6000.0)?, 1.0)?.with(
            LAMPS,
            &Spectrum::planckian(2850.0),
            1.0,
        )?;
        let studio = Studio::new(&lighting, None, &[]);
        let sensor = Sensor::made_up(1);
        let shoot = || studio.photographed(&view(), &sensor, small()).combined(|_, _| 1.0).pixels;
        let many = shoot();
        assert_eq!(many, shoot());
        let one = rayon::ThreadPoolBuilder::new().num_threads(1).build()?.install(shoot);
        assert_eq!(many, one);
        assert!(many.iter().filter(|pixel| pixel[1] > 0.0).count() > 300);
        Ok(())
    }

    #[test]
    fn groups_add_up() -> Result<(), LabError> {
        let daylight = Spectrum::daylight(6000.0)?;
        let lamp = Spectrum::planckian(2850.0);
        let both = Lighting::dark().with(WINDOW, &daylight, 1.0)?.with(LAMPS, &lamp, 1.0)?;
        let studio = Studio::new(&both, None, &[]);
        let layers = studio.photographed(&view(), &Sensor::made_up(1), small());
        let all = layers.combined(|_, _| 1.0).pixels;
        let window = layers.combined(|group, _| f64::from(u8::from(group == WINDOW))).pixels;
        let lamps = layers.combined(|group, _| f64::from(u8::from(group == LAMPS))).pixels;
        for ((all, window), lamps) in all.iter().zip(&window).zip(&lamps) {
            assert!((all[1] - window[1] - lamps[1]).abs() <= 1e-4 * all[1].max(1.0));
        }
        Ok(())
    }

    #[test]
    fn light_on_a_card_at_the_window_is_nearly_the_skys() -> Result<(), LabError> {
        let lighting = Lighting::dark().with(WINDOW, &Spectrum::daylight(6500.0)?, 1.0)?;
        let studio = Studio::new(&lighting, None, &[]);
        let (light, _) = studio.light_at(vec3(-2.0, 1.5, -2.4), vec3(-1.0, 0.1, 0.0), 400);
        let found = cct_duv(&light)?;
        assert!((found.cct.get() - 6500.0).abs() < 500.0, "{found:?}");
        Ok(())
    }
}
