//! Surfaces: reflectance, pattern and finish.

use super::bands::{Bands, mix};
use super::card_face::CardFace;
use super::texture::{fractal, gradient, noise, smooth_step};
use super::vec3::{Vec3, vec3};

/// How a surface mirrors, besides scattering.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Finish {
    /// Not at all.
    Matt,
    /// A broad highlight, as of varnished card.
    Satin {
        /// Exponent of the highlight's fall-off: about 50 for a soft one to 1000 for a hard one.
        exponent: f32,
    },
    /// A clear coat that mirrors what is around it, as of glaze.
    Gloss {
        /// How far reflected rays stray, about 0 to 0.1.
        blur: f32,
    },
    /// Bare metal, which mirrors most of the light and scatters little.
    Metal {
        /// As for gloss.
        blur: f32,
    },
}

/// How a surface varies from place to place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Pattern {
    /// The same everywhere.
    Plain,
    /// Trowelled and whitewashed plaster.
    Plaster,
    /// Boards of a width that run along an axis (0 for x, 2 for z), with gaps and grain.
    Boards { along: usize, width: f32 },
    /// One piece of wood whose grain runs along an axis.
    Grain { along: usize },
    /// Glaze over a clay body: dipped down to a line above the foot.
    Glaze { foot: f32, line: f32, speckle: f32 },
    /// Thrown, unglazed clay with rings.
    Clay,
    /// Woven cloth, creased.
    Cloth,
    /// Splashed with slip.
    Splashed,
    /// The white card.
    Card(CardFace),
}

/// Light a surface gives off itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Emission {
    /// Index of the group of lights it belongs to.
    pub(super) group: usize,
    /// Radiance, in the renderer's unit.
    pub(super) radiance: f32,
}

/// What a thing is made of.
#[derive(Debug, Clone, Copy)]
pub(super) struct Material {
    pub(super) base: Bands,
    /// What the pattern mixes in: grain, body clay, splashes, ink.
    pub(super) second: Bands,
    pub(super) pattern: Pattern,
    pub(super) finish: Finish,
    pub(super) emission: Option<Emission>,
}

/// A surface at one place.
#[derive(Debug, Clone, Copy)]
pub(super) struct Surface {
    pub(super) reflectance: Bands,
    pub(super) normal: Vec3,
    pub(super) finish: Finish,
}

impl Material {
    pub(super) fn plain(base: Bands) -> Self {
        Self { base, second: base, pattern: Pattern::Plain, finish: Finish::Matt, emission: None }
    }

    pub(super) fn with(self, pattern: Pattern, second: Bands) -> Self {
        Self { pattern, second, ..self }
    }

    pub(super) fn finished(self, finish: Finish) -> Self {
        Self { finish, ..self }
    }

    pub(super) fn emitting(self, group: usize, radiance: f32) -> Self {
        Self { emission: Some(Emission { group, radiance }), ..self }
    }

    /// The surface where only its part in lighting others matters: no relief, the pattern's average.
    pub(super) fn coarsely(&self, normal: Vec3) -> Surface {
        Surface {
            reflectance: mix(&self.base, &self.second, self.pattern.usual_share()),
            normal,
            finish: self.finish,
        }
    }

    /// The surface at a place with a smooth normal.
    pub(super) fn at(&self, p: Vec3, normal: Vec3) -> Surface {
        let (share, level, bump) = self.pattern.at(p);
        let finish = match self.pattern {
            // The bare foot of a glazed pot is dry clay.
            Pattern::Glaze { .. } if share > 0.8 => Finish::Matt,
            _ => self.finish,
        };
        // Varnish fills the paper's grain.
        let bump = if matches!(self.finish, Finish::Satin { .. }) { bump * 0.02 } else { bump };
        let along = bump - normal * bump.dot(normal);
        Surface {
            reflectance: mix(&self.base, &self.second, share)
                .map(|value| (value * level).clamp(0.0, 0.95)),
            normal: (normal - along).unit(),
            finish,
        }
    }
}

impl Pattern {
    /// Share of the second colour over the whole surface, roughly.
    fn usual_share(&self) -> f32 {
        match self {
            Self::Plain | Self::Clay | Self::Card(_) => 0.0,
            Self::Plaster | Self::Glaze { .. } => 0.1,
            Self::Cloth | Self::Splashed => 0.15,
            Self::Boards { .. } | Self::Grain { .. } => 0.45,
        }
    }

    /// Share of the second colour, factor on the reflectance, and the slope of the relief.
    fn at(&self, p: Vec3) -> (f32, f32, Vec3) {
        let flat = Vec3::default();
        match *self {
            Self::Plain => (0.0, 1.0, flat),
            Self::Plaster => {
                let patches = fractal(p * 1.1, 4) - 0.5;
                let fine = noise(p * 60.0) - 0.5;
                let relief = |q: Vec3| {
                    0.010 * fractal(q * 5.0, 3) + 0.0022 * fractal(vec3(q.x, q.y, q.z) * 34.0, 2)
                };
                // Damp and scuffs gather low on the wall.
                let stain = smooth_step(0.9, 0.0, p.y) * fractal(p * 3.0, 3)
                    + smooth_step(0.62, 0.85, fractal(p * 0.9 + vec3(3.0, 9.0, 1.0), 4));
                (stain * 0.28, 1.0 + 0.12 * patches + 0.03 * fine, gradient(p, 0.004, relief))
            }
            Self::Boards { along, width } => {
                let (across, run) = if along == 0 { (p.z, p.x) } else { (p.x, p.z) };
                let board = (across / width).floor();
                let inside = across / width - board;
                let shift = noise(vec3(board * 7.31, 0.5, 0.5)) * 40.0;
                let length = 1.9;
                let piece = ((run + shift) / length).floor();
                let end = (run + shift) / length - piece;
                let tone = noise(vec3(board * 3.7 + 0.5, piece * 5.3 + 0.5, 0.5));
                let grain = fractal(
                    vec3(across * 55.0, run * 2.2 + piece * 9.0, board * 3.0 + p.y * 20.0),
                    3,
                );
                let gap = (inside.min(1.0 - inside) * width).min(end.min(1.0 - end) * length);
                let joint = smooth_step(0.0015, 0.005, gap);
                let wear = fractal(vec3(p.x * 2.3, p.y, p.z * 2.3), 4);
                let dust = smooth_step(0.52, 0.72, wear) * 0.16;
                (
                    (0.75 * grain + 0.35 * tone - 0.12).clamp(0.0, 1.0),
                    (0.72 + 0.5 * tone + dust) * (0.25 + 0.75 * joint),
                    gradient(p, 0.003, |q| 0.0012 * noise(q * 90.0)),
                )
            }
            Self::Grain { along } => {
                let q = match along {
                    0 => vec3(p.x * 1.6, p.y * 30.0, p.z * 30.0),
                    1 => vec3(p.x * 30.0, p.y * 1.6, p.z * 30.0),
                    _ => vec3(p.x * 30.0, p.y * 30.0, p.z * 1.6),
                };
                let rings = (fractal(q * 0.32, 3) * 26.0).sin() * 0.5 + 0.5;
                let grain = 0.55 * rings + 0.6 * fractal(q, 3) - 0.15;
                let dust = smooth_step(0.5, 0.75, fractal(p * 6.0, 4)) * 0.18;
                (
                    grain.clamp(0.0, 1.0),
                    0.92 + dust,
                    gradient(p, 0.003, |r| 0.0008 * noise(r * 70.0)),
                )
            }
            Self::Glaze { foot, line, speckle } => {
                let drip = 0.02 * fractal(p * 24.0, 2);
                let bare = smooth_step(line + drip, line + drip - 0.004, p.y - foot);
                let pooled = fractal(vec3(p.x * 9.0, p.y * 26.0, p.z * 9.0), 3) - 0.5;
                let spots = smooth_step(0.80, 0.88, noise(p * 260.0)) * speckle;
                (
                    bare.max(spots * 0.75),
                    1.0 + 0.35 * pooled,
                    gradient(p, 0.002, |q| {
                        0.0009 * noise(vec3(q.x * 14.0, q.y * 120.0, q.z * 14.0))
                    }),
                )
            }
            Self::Clay => {
                let damp = fractal(p * 7.0, 3) - 0.5;
                let rings = |q: Vec3| 0.0011 * (q.y * 420.0 + 3.0 * noise(q * 9.0)).sin();
                (0.0, 1.0 + 0.25 * damp, gradient(p, 0.001, rings))
            }
            Self::Cloth => {
                let weave = noise(p * 420.0) - 0.5;
                let worn = fractal(p * 5.0, 3);
                let crease = |q: Vec3| 0.006 * fractal(vec3(q.x * 11.0, q.y * 5.0, q.z * 11.0), 2);
                let smears =
                    smooth_step(0.6, 0.72, fractal(p * 8.0 + vec3(1.0, 2.0, 3.0), 3)) * 0.5;
                (smears, 0.9 + 0.2 * worn + 0.15 * weave, gradient(p, 0.004, crease))
            }
            Self::Splashed => {
                let splash = smooth_step(0.66, 0.78, fractal(p * 11.0, 4)).max(smooth_step(
                    0.74,
                    0.80,
                    noise(p * 70.0),
                ));
                let film = 0.25 * fractal(p * 4.0, 3);
                ((0.75 * splash + film).min(1.0), 0.95 + 0.15 * (fractal(p * 5.0, 3) - 0.5), flat)
            }
            Self::Card(face) => {
                let (ink, level) = face.at(p);
                let fibre = |q: Vec3| 0.000_12 * fractal(q * 700.0, 2);
                (ink, level, gradient(p, 0.0006, fibre))
            }
        }
    }
}
