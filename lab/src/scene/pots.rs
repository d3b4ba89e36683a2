//! Pots: profiles turned on a wheel, in glazes over clay bodies.

use super::builder::Builder;
use super::material::{Finish, Material, Pattern};
use super::mesh::smooth_profile;
use super::palette;
use super::vec3::{Vec3, vec3};
use crate::rng::Rng;

/// The shape of a pot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    Bowl,
    Beaker,
    Mug,
    Vase,
    Bottle,
    Jar,
    Plate,
}

/// What a pot is covered in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Glaze {
    Celadon,
    Cobalt,
    Tenmoku,
    Porcelain,
    CopperRed,
    Ochre,
    Turquoise,
    Shino,
    /// Fired once, no glaze: red clay.
    Terracotta,
    /// Drying, not fired: grey-brown clay.
    Raw,
}

impl Shape {
    /// Radius and height of the outside, metres, from the foot to the rim.
    fn outline(self) -> &'static [(f32, f32)] {
        match self {
            Self::Bowl => {
                &[(0.032, 0.0), (0.036, 0.008), (0.056, 0.022), (0.080, 0.050), (0.092, 0.082)]
            }
            Self::Beaker | Self::Mug => {
                &[(0.036, 0.0), (0.042, 0.008), (0.045, 0.05), (0.043, 0.09), (0.044, 0.108)]
            }
            Self::Vase => &[
                (0.045, 0.0),
                (0.062, 0.04),
                (0.080, 0.11),
                (0.070, 0.18),
                (0.036, 0.23),
                (0.030, 0.255),
                (0.042, 0.28),
            ],
            Self::Bottle => &[
                (0.050, 0.0),
                (0.070, 0.05),
                (0.072, 0.12),
                (0.038, 0.18),
                (0.018, 0.22),
                (0.016, 0.275),
                (0.024, 0.295),
            ],
            Self::Jar => {
                &[(0.055, 0.0), (0.085, 0.05), (0.096, 0.12), (0.078, 0.18), (0.062, 0.196)]
            }
            Self::Plate => &[(0.060, 0.0), (0.066, 0.006), (0.105, 0.017), (0.130, 0.030)],
        }
    }

    /// The widest radius, metres.
    pub(super) fn radius(self) -> f32 {
        self.outline().iter().map(|point| point.0).fold(0.0, f32::max)
    }
}

/// The material of a pot whose foot is at a height.
fn material(glaze: Glaze, foot: f32, height: f32) -> Material {
    let glazed = |base, body, speckle| {
        Material::plain(base)
            .with(Pattern::Glaze { foot, line: height * 0.12 + 0.004, speckle }, body)
            .finished(Finish::Gloss { blur: 0.03 })
    };
    match glaze {
        Glaze::Celadon => glazed(palette::celadon(), palette::stoneware(), 0.3),
        Glaze::Cobalt => glazed(palette::cobalt(), palette::stoneware(), 0.2),
        Glaze::Tenmoku => glazed(palette::tenmoku(), palette::terracotta(), 0.5),
        Glaze::Porcelain => glazed(palette::porcelain(), palette::porcelain(), 0.0),
        Glaze::CopperRed => glazed(palette::copper_red(), palette::stoneware(), 0.2),
        Glaze::Ochre => glazed(palette::ochre(), palette::terracotta(), 0.6),
        Glaze::Turquoise => glazed(palette::turquoise(), palette::stoneware(), 0.4),
        Glaze::Shino => glazed(palette::shino(), palette::stoneware(), 0.9),
        Glaze::Terracotta => {
            Material::plain(palette::terracotta()).with(Pattern::Clay, palette::terracotta())
        }
        Glaze::Raw => Material::plain(palette::wet_clay()).with(Pattern::Clay, palette::wet_clay()),
    }
}

/// Sets a pot down.
pub(super) fn place(b: &mut Builder, shape: Shape, glaze: Glaze, foot: Vec3, scale: f32) {
    let outline: Vec<(f32, f32)> =
        shape.outline().iter().map(|&(r, h)| (r * scale, h * scale)).collect();
    let height = outline.last().map_or(0.0, |point| point.1);
    let index = b.material(material(glaze, foot.y, height));
    let wall = 0.0045 * scale.max(0.8);
    let outside = smooth_profile(&outline, 3);
    let mut profile = vec![(0.0, 0.0), outside[0], outside[0]];
    profile.extend(outside.iter().skip(1));
    profile.push((outside[outside.len() - 1].0 - wall * 0.5, height + wall * 0.4));
    profile.extend(
        outside.iter().rev().filter(|point| point.1 > wall).map(|p| ((p.0 - wall).max(0.001), p.1)),
    );
    profile.push((0.0, wall));
    b.mesh.turned(foot, &profile, 24, index);
    match shape {
        Shape::Mug => handle(b, foot, scale, index),
        Shape::Jar => {
            let rim = height - 0.002;
            let lid = [
                (0.066, 0.0),
                (0.066, 0.006),
                (0.050, 0.020),
                (0.016, 0.030),
                (0.010, 0.036),
                (0.016, 0.046),
                (0.012, 0.054),
                (0.0, 0.056),
            ];
            let lid: Vec<_> = lid.iter().map(|&(r, h)| (r * scale, rim + h * scale)).collect();
            b.mesh.turned(foot, &smooth_profile(&lid, 2), 24, index);
        }
        _ => {}
    }
}

/// A pulled handle on the side of a mug.
fn handle(b: &mut Builder, foot: Vec3, scale: f32, index: u32) {
    let turn = (foot.x * 91.0 + foot.z * 57.0).fract() * 5.0;
    let points: Vec<Vec3> = (0..=8)
        .map(|i| {
            let angle = (i as f32 / 8.0 - 0.5) * std::f32::consts::PI * 1.1;
            let out = vec3(0.041 + 0.030 * angle.cos(), 0.055 + 0.032 * angle.sin(), 0.0) * scale;
            foot + out.turned(turn)
        })
        .collect();
    for pair in points.windows(2) {
        b.mesh.bar(pair[0], pair[1], 0.0065 * scale, index);
    }
}

/// A row of pots on a board, in runs of one kind as they came off the wheel.
pub(super) fn row(b: &mut Builder, from: Vec3, to_x: f32, headroom: f32, rng: &mut Rng) {
    const SHAPES: [Shape; 7] = [
        Shape::Bowl,
        Shape::Beaker,
        Shape::Mug,
        Shape::Vase,
        Shape::Bottle,
        Shape::Jar,
        Shape::Plate,
    ];
    const GLAZES: [Glaze; 9] = [
        Glaze::Celadon,
        Glaze::Porcelain,
        Glaze::Tenmoku,
        Glaze::Terracotta,
        Glaze::Cobalt,
        Glaze::Shino,
        Glaze::Ochre,
        Glaze::Turquoise,
        Glaze::CopperRed,
    ];
    let mut x = from.x + 0.06;
    while x < to_x - 0.08 {
        let shape = SHAPES[(rng.uniform() * SHAPES.len() as f64) as usize];
        let glaze = GLAZES[(rng.uniform() * GLAZES.len() as f64) as usize];
        let tall = shape.outline().last().map_or(0.1, |point| point.1);
        let scale = (rng.between(0.85, 1.25) as f32).min(headroom / tall);
        let count = 1 + (rng.uniform() * 3.6) as usize;
        let stack = match shape {
            Shape::Bowl => 1 + (rng.uniform() * 4.0) as usize,
            Shape::Plate => 3 + (rng.uniform() * 5.0) as usize,
            _ => 1,
        };
        for _ in 0..count {
            let size = scale * rng.between(0.96, 1.04) as f32;
            let radius = shape.radius() * size;
            if x + 2.0 * radius > to_x {
                return;
            }
            let deep = rng.between(-0.03, 0.03) as f32;
            for level in 0..stack {
                let rise = if shape == Shape::Plate { 0.014 } else { 0.026 } * level as f32;
                let foot = vec3(x + radius, from.y + rise * size, from.z + deep);
                place(b, shape, glaze, foot, size);
            }
            x += 2.0 * radius + rng.between(0.008, 0.03) as f32;
        }
        x += rng.between(0.01, 0.09) as f32;
    }
}
