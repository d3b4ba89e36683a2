//! The lights of a scene, in groups that share a spectrum.

use super::bands::{BANDS, Bands, mix};
use super::palette;
use super::texture::{fractal, smooth_step};
use super::vec3::{Vec3, vec3};
use crate::spectrum::Spectrum;

/// Number of groups of lights a scene can have.
pub const GROUPS: usize = 4;
/// Group of the daylight through the window.
pub const WINDOW: usize = 0;
/// Group of the hanging lamps.
pub const LAMPS: usize = 1;
/// Group of the strip lamp over the kiln.
pub const STRIP: usize = 2;
/// Group of direct sun through the window.
pub const SUN: usize = 3;

/// Something that gives off light.
#[derive(Debug, Clone, Copy)]
pub(super) enum Emitter {
    /// A small sphere of even radiance.
    Bulb { centre: Vec3, radius: f32, radiance: f32 },
    /// A panel that shines to its front.
    Panel { corner: Vec3, along: Vec3, up: Vec3, radiance: f32 },
    /// An opening on to the sky; light comes through its front.
    Opening { corner: Vec3, along: Vec3, up: Vec3 },
    /// The sun: direction towards it, half its width in radians, irradiance square to it.
    Sun { towards: Vec3, half_width: f32, irradiance: f32 },
}

/// A group of lights with one spectrum.
#[derive(Debug, Clone)]
pub struct Light {
    /// Spectrum; its scale is the group's level.
    pub spectrum: Spectrum,
    pub(super) emitters: Vec<Emitter>,
}

/// A light as seen from a place: where to look, how far, and radiance times solid angle by wavelength.
pub(super) struct Sighting {
    pub(super) direction: Vec3,
    pub(super) distance: f32,
    pub(super) arriving: Bands,
}

impl Emitter {
    /// One random point of the emitter as seen from `place`; `None` where it faces away.
    pub(super) fn sighted(&self, place: Vec3, (u, v): (f32, f32)) -> Option<Sighting> {
        match *self {
            Self::Bulb { centre, radius, radiance } => {
                let axis = centre - place;
                let distance = axis.length();
                let outside = (distance * distance - radius * radius).max(1e-6).sqrt();
                let cos_edge = outside / distance.max(radius);
                let cos = 1.0 - u * (1.0 - cos_edge);
                let direction = around(axis.unit(), cos, v);
                let solid_angle = std::f32::consts::TAU * (1.0 - cos_edge);
                Some(Sighting {
                    direction,
                    distance: (distance - radius * 1.05).max(0.0),
                    arriving: [radiance * solid_angle; BANDS],
                })
            }
            Self::Panel { corner, along, up, radiance } => {
                let (direction, distance, solid_angle) = panel(place, corner, along, up, u, v)?;
                let arriving = [radiance * solid_angle; BANDS];
                Some(Sighting { direction, distance: distance * 0.998, arriving })
            }
            Self::Opening { corner, along, up } => {
                let (direction, _, solid_angle) = panel(place, corner, along, up, u, v)?;
                let arriving = outdoors_coarsely(direction).map(|radiance| radiance * solid_angle);
                Some(Sighting { direction, distance: f32::INFINITY, arriving })
            }
            Self::Sun { towards, half_width, irradiance } => Some(Sighting {
                direction: around(towards, 1.0 - u * (1.0 - half_width.cos()), v),
                distance: f32::INFINITY,
                arriving: [irradiance; BANDS],
            }),
        }
    }
}

/// The direction at an angle of the given cosine to `axis`, `turn` of the way round it.
fn around(axis: Vec3, cos: f32, turn: f32) -> Vec3 {
    let (a, b) = axis.frame();
    let sin = (1.0 - cos * cos).max(0.0).sqrt();
    let (s, c) = (turn * std::f32::consts::TAU).sin_cos();
    (a * (c * sin) + b * (s * sin) + axis * cos).unit()
}

/// Direction, distance and solid angle of the patch a random point of a panel stands for.
fn panel(
    place: Vec3,
    corner: Vec3,
    along: Vec3,
    up: Vec3,
    u: f32,
    v: f32,
) -> Option<(Vec3, f32, f32)> {
    let offset = corner + along * u + up * v - place;
    let distance = offset.length().max(1e-3);
    let direction = offset * (1.0 / distance);
    let front = along.cross(up);
    // The length of `front` is the area.
    let facing = -front.dot(direction);
    (facing > 0.0).then(|| (direction, distance, facing / (distance * distance).max(0.01)))
}

/// Radiance of what is outside the window, by direction, without its detail: what lights the room.
pub(super) fn outdoors_coarsely(direction: Vec3) -> Bands {
    let height = direction.y;
    if height > 0.14 {
        [0.975 + 0.25 * height; BANDS]
    } else if height > -0.033 {
        palette::FOLIAGE.map(|r| r * 0.95)
    } else if height > -0.29 {
        palette::BRICK_WALL.map(|r| r * 0.8)
    } else {
        [0.16; BANDS]
    }
}

/// Radiance of what is outside the window, by direction: overcast-bright sky over trees, a brick wall and a yard.
pub(super) fn outdoors(direction: Vec3) -> Bands {
    let bearing = direction.z.atan2(-direction.x);
    let height = direction.y;
    let cloud = fractal(vec3(bearing * 2.2, height * 4.0, 0.3), 4);
    let sky = [(0.80 + 0.35 * cloud + 0.25 * height.max(0.0)).max(0.0); BANDS];
    let crowns = 0.10
        + 0.10 * fractal(vec3(bearing * 3.0, 2.0, 0.0), 4)
        + 0.03 * fractal(vec3(bearing * 26.0, height * 26.0, 1.0), 3);
    let leaves = 0.45 + 1.1 * fractal(vec3(bearing * 34.0, height * 34.0, 0.0), 3);
    let trees = palette::FOLIAGE.map(|r| r * leaves);
    let course = ((height * 46.0).fract() < 0.14)
        || ((bearing * 15.0 + (height * 46.0).floor() * 0.5).fract().abs() < 0.07);
    let bricks = palette::BRICK_WALL.map(|r| r * if course { 1.15 } else { 0.72 });
    let ground = [0.16; BANDS];
    let behind = mix(&trees, &sky, smooth_step(crowns - 0.01, crowns + 0.012, height));
    let walled = mix(&bricks, &behind, smooth_step(-0.035, -0.032, height));
    mix(&ground, &walled, smooth_step(-0.32, -0.26, height))
}
