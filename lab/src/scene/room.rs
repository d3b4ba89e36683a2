//! The shell of the studio: floor, walls, ceiling, and the window in the left wall.

use super::builder::Builder;
use super::light::{Emitter, SUN, WINDOW};
use super::material::{Material, Pattern};
use super::palette;
use super::vec3::{Vec3, vec3};

/// Left, right, back and front wall, ceiling, metres.
pub(super) const LEFT: f32 = -2.6;
pub(super) const RIGHT: f32 = 2.8;
pub(super) const BACK: f32 = -4.4;
const FRONT: f32 = 2.2;
pub(super) const CEILING: f32 = 3.0;
/// The window's opening: back and front edge, sill and head.
pub(super) const WINDOW_BACK: f32 = -3.35;
pub(super) const WINDOW_FRONT: f32 = -1.45;
pub(super) const SILL: f32 = 0.80;
const HEAD: f32 = 2.65;
/// Thickness of the outer wall.
const WALL: f32 = 0.28;

pub(super) fn build(b: &mut Builder) {
    let plaster = b.material(
        Material::plain(palette::whitewash()).with(Pattern::Plaster, palette::old_stain()),
    );
    let boards = b.material(
        Material::plain(palette::floor())
            .with(Pattern::Boards { along: 2, width: 0.17 }, palette::floor_dark()),
    );
    let ceiling = b.material(
        Material::plain(palette::white_paint())
            .with(Pattern::Boards { along: 0, width: 0.14 }, palette::old_stain()),
    );
    let beam = b.material(
        Material::plain(palette::oak()).with(Pattern::Grain { along: 0 }, palette::oak_dark()),
    );
    let paint = b.material(Material::plain(palette::white_paint()));
    let sill = b.material(
        Material::plain(palette::oak()).with(Pattern::Grain { along: 2 }, palette::oak_dark()),
    );

    let (depth, span) = (FRONT - BACK, RIGHT - LEFT);
    b.mesh.panel(vec3(LEFT, 0.0, FRONT), vec3(span, 0.0, 0.0), vec3(0.0, 0.0, -depth), boards);
    b.mesh.panel(vec3(LEFT, CEILING, BACK), vec3(span, 0.0, 0.0), vec3(0.0, 0.0, depth), ceiling);
    b.mesh.panel(vec3(LEFT, 0.0, BACK), vec3(span, 0.0, 0.0), vec3(0.0, CEILING, 0.0), plaster);
    b.mesh.panel(vec3(RIGHT, 0.0, FRONT), vec3(-span, 0.0, 0.0), vec3(0.0, CEILING, 0.0), plaster);
    b.mesh.panel(vec3(RIGHT, 0.0, BACK), vec3(0.0, 0.0, depth), vec3(0.0, CEILING, 0.0), plaster);
    for z in [-3.3, -1.9, -0.5, 0.9] {
        b.mesh.block(
            vec3(LEFT, CEILING - 0.2, z - 0.08),
            vec3(RIGHT, CEILING - 0.001, z + 0.08),
            beam,
        );
    }
    // A skirting board along the back and the right.
    b.mesh.block(vec3(LEFT, 0.0, BACK), vec3(RIGHT, 0.12, BACK + 0.018), paint);
    b.mesh.block(vec3(RIGHT - 0.018, 0.0, BACK), vec3(RIGHT, 0.12, FRONT), paint);

    // The left wall, as four blocks about the window.
    let outside = LEFT - WALL;
    let mut wall = |low: Vec3, high: Vec3| b.mesh.block(low, high, plaster);
    wall(vec3(outside, 0.0, BACK), vec3(LEFT, CEILING, WINDOW_BACK));
    wall(vec3(outside, 0.0, WINDOW_FRONT), vec3(LEFT, CEILING, FRONT));
    wall(vec3(outside, 0.0, WINDOW_BACK), vec3(LEFT, SILL, WINDOW_FRONT));
    wall(vec3(outside, HEAD, WINDOW_BACK), vec3(LEFT, CEILING, WINDOW_FRONT));
    b.mesh.block(
        vec3(outside, SILL, WINDOW_BACK - 0.03),
        vec3(LEFT + 0.07, SILL + 0.03, WINDOW_FRONT + 0.03),
        sill,
    );
    glazing_bars(b, paint, outside + 0.06);

    // Light comes in through the outer face of the opening.
    b.emitters[WINDOW].push(Emitter::Opening {
        corner: vec3(outside, SILL, WINDOW_FRONT),
        along: vec3(0.0, 0.0, WINDOW_BACK - WINDOW_FRONT),
        up: vec3(0.0, HEAD - SILL, 0.0),
    });
    b.emitters[SUN].push(Emitter::Sun {
        towards: vec3(-0.80, 0.62, 0.36).unit(),
        half_width: 0.006,
        irradiance: 9.0,
    });
}

/// Frame and bars of the window: three lights wide, four high.
fn glazing_bars(b: &mut Builder, paint: u32, x: f32) {
    let mut bar = |low: Vec3, high: Vec3| b.mesh.block(low, high, paint);
    let (deep, frame, thin) = (0.05, 0.06, 0.026);
    bar(vec3(x, SILL, WINDOW_BACK), vec3(x + deep, HEAD, WINDOW_BACK + frame));
    bar(vec3(x, SILL, WINDOW_FRONT - frame), vec3(x + deep, HEAD, WINDOW_FRONT));
    bar(vec3(x, SILL, WINDOW_BACK), vec3(x + deep, SILL + frame + 0.03, WINDOW_FRONT));
    bar(vec3(x, HEAD - frame, WINDOW_BACK), vec3(x + deep, HEAD, WINDOW_FRONT));
    for column in 1..3 {
        let z = WINDOW_BACK + (WINDOW_FRONT - WINDOW_BACK) * column as f32 / 3.0;
        bar(vec3(x, SILL, z - thin * 0.5), vec3(x + 0.04, HEAD, z + thin * 0.5));
    }
    for row in 1..4 {
        let y = SILL + (HEAD - SILL) * row as f32 / 4.0;
        bar(vec3(x, y - thin * 0.5, WINDOW_BACK), vec3(x + 0.04, y + thin * 0.5, WINDOW_FRONT));
    }
}
