//! The kiln corner: the kiln, the strip lamp over it, and a board of glaze tests.

use super::builder::Builder;
use super::light::{Emitter, STRIP};
use super::material::{Finish, Material, Pattern};
use super::palette;
use super::pots::{self, Glaze, Shape};
use super::room::{BACK, RIGHT};
use super::vec3::{Vec3, vec3};
use crate::rng::Rng;

/// Radiance of the strip lamp, in units of the sky's.
const STRIP_RADIANCE: f32 = 13.0;

pub(super) fn build(b: &mut Builder) {
    kiln(b, vec3(2.12, 0.0, -3.72));
    strip_lamp(b);
    test_tiles(b);
    trolley(b);
}

fn kiln(b: &mut Builder, at: Vec3) {
    let steel =
        b.material(Material::plain(palette::steel()).finished(Finish::Metal { blur: 0.07 }));
    let brick = b.material(
        Material::plain(palette::firebrick()).with(Pattern::Splashed, palette::old_stain()),
    );
    let iron = b.material(Material::plain(palette::iron()));
    let dial = b.material(Material::plain(palette::white_paint()));
    // Eight flat sides; each height is given twice so that edges stay sharp.
    let jacket = [(0.44, 0.20), (0.44, 0.20), (0.44, 0.92), (0.44, 0.92)];
    b.mesh.turned(at, &jacket, 8, steel);
    let rim = [(0.44, 0.92), (0.44, 0.92), (0.30, 0.92), (0.30, 0.92)];
    b.mesh.turned(at, &rim, 8, brick);
    let lid =
        [(0.0, 0.935), (0.45, 0.935), (0.45, 0.935), (0.45, 1.03), (0.45, 1.03), (0.0, 1.035)];
    b.mesh.turned(at, &lid, 8, steel);
    let plinth = [(0.40, 0.0), (0.40, 0.0), (0.40, 0.20), (0.40, 0.20), (0.44, 0.20)];
    b.mesh.turned(at, &plinth, 8, iron);
    for y in [0.30, 0.56, 0.82] {
        let band = [
            (0.440, y),
            (0.449, y),
            (0.449, y),
            (0.449, y + 0.022),
            (0.449, y + 0.022),
            (0.44, y + 0.022),
        ];
        b.mesh.turned(at, &band, 8, iron);
    }
    // The control box, turned to the room.
    let turn = -0.5;
    let face = at + vec3(0.0, 0.55, 0.46).turned(turn);
    b.mesh.turned_block(face, vec3(0.20, 0.34, 0.10), turn, iron);
    for (y, radius) in [(0.08, 0.03), (-0.05, 0.022)] {
        let knob = face + vec3(0.0, y, 0.05).turned(turn);
        b.mesh.bar(knob, knob + vec3(0.0, 0.0, 0.025).turned(turn), radius, dial);
        let cap = knob + vec3(0.0, 0.0, 0.02).turned(turn);
        b.mesh.turned_block(cap, vec3(radius * 1.3, radius * 1.3, 0.014), turn, dial);
    }
    // Kiln shelves and ware on the lid.
    let shelf = b.material(
        Material::plain(palette::firebrick()).with(Pattern::Splashed, palette::stoneware()),
    );
    b.mesh.turned_block(at + vec3(-0.04, 1.05, 0.02), vec3(0.46, 0.02, 0.40), 0.3, shelf);
    b.mesh.turned_block(at + vec3(-0.02, 1.072, 0.03), vec3(0.46, 0.02, 0.40), 0.22, shelf);
    for (shape, glaze, x, z, scale) in [
        (Shape::Vase, Glaze::CopperRed, -0.12, -0.05, 1.0),
        (Shape::Bowl, Glaze::Celadon, 0.06, 0.06, 0.9),
        (Shape::Beaker, Glaze::Porcelain, 0.10, -0.12, 0.9),
    ] {
        pots::place(b, shape, glaze, at + vec3(x, 1.083, z), scale);
    }
}

/// A batten with a bare tube, on the back wall.
fn strip_lamp(b: &mut Builder) {
    let housing =
        b.material(Material::plain(palette::white_paint()).finished(Finish::Gloss { blur: 0.1 }));
    let glow = b.material(Material::plain(palette::white_paint()).emitting(STRIP, STRIP_RADIANCE));
    let (left, right, y, z) = (1.45, 2.70, 2.42, BACK + 0.30);
    let iron = b.material(Material::plain(palette::iron()));
    for x in [left + 0.2, right - 0.2] {
        b.mesh.bar(vec3(x, y + 0.06, z - 0.02), vec3(x, y + 0.09, BACK), 0.010, iron);
    }
    b.mesh.block(
        vec3(left - 0.03, y + 0.012, z - 0.05),
        vec3(right + 0.03, y + 0.07, z + 0.05),
        housing,
    );
    // Two faces, one down and one to the room, stand for the tube; they lean towards each other.
    let along = vec3(right - left, 0.0, 0.0);
    let faces = [
        (vec3(left, y + 0.010, z - 0.03), along, vec3(0.0, -0.022, 0.035)),
        (vec3(left, y - 0.012, z + 0.005), along, vec3(0.0, 0.022, 0.030)),
    ];
    for (corner, along, up) in faces {
        // The front of each face looks down or to the room.
        let front = along.cross(up);
        let (corner, along) =
            if front.y - front.z > 0.0 { (corner + along, -along) } else { (corner, along) };
        b.mesh.panel(corner, along, up, glow);
        b.emitters[STRIP].push(Emitter::Panel { corner, along, up, radiance: STRIP_RADIANCE });
    }
}

/// Glaze tests: rows of small tiles on a board on the back wall.
fn test_tiles(b: &mut Builder) {
    let board = b.material(
        Material::plain(palette::pine()).with(Pattern::Grain { along: 1 }, palette::pine_dark()),
    );
    let (left, low) = (1.62, 1.30);
    b.mesh.block(vec3(left, low, BACK), vec3(left + 0.92, low + 0.74, BACK + 0.02), board);
    let glazes = [
        palette::celadon(),
        palette::cobalt(),
        palette::tenmoku(),
        palette::porcelain(),
        palette::copper_red(),
        palette::ochre(),
        palette::turquoise(),
        palette::shino(),
        palette::enamel_green(),
        palette::terracotta(),
    ];
    let mut rng = Rng::new(77);
    for row in 0..6 {
        for column in 0..8 {
            let base = glazes[(column * 3 + row * 7 + (row * column) % 4) % glazes.len()];
            let level = rng.between(0.75, 1.15) as f32;
            let tile = b.material(
                Material::plain(base.map(|v| (v * level).min(0.9)))
                    .with(
                        Pattern::Glaze {
                            foot: low + 0.05 + row as f32 * 0.115,
                            line: 0.012,
                            speckle: 0.4,
                        },
                        palette::stoneware(),
                    )
                    .finished(Finish::Gloss { blur: 0.03 }),
            );
            let jitter = |rng: &mut Rng| rng.between(-0.003, 0.003) as f32;
            let corner = vec3(
                left + 0.045 + column as f32 * 0.106 + jitter(&mut rng),
                low + 0.05 + row as f32 * 0.115 + jitter(&mut rng),
                BACK + 0.02,
            );
            b.mesh.block(corner, corner + vec3(0.085, 0.09, 0.007), tile);
        }
    }
}

/// A ware trolley along the right wall with bisque pots.
fn trolley(b: &mut Builder) {
    let iron = b.material(Material::plain(palette::iron()));
    let shelf = b.material(
        Material::plain(palette::pine()).with(Pattern::Grain { along: 2 }, palette::pine_dark()),
    );
    let (left, right, back, front) = (RIGHT - 0.46, RIGHT - 0.06, -2.75, -1.55);
    let mut rng = Rng::new(5);
    for x in [left, right - 0.03] {
        for z in [back, front - 0.03] {
            b.mesh.block(vec3(x, 0.05, z), vec3(x + 0.03, 1.5, z + 0.03), iron);
        }
    }
    for y in [0.20, 0.62, 1.04, 1.46] {
        b.mesh.block(vec3(left, y, back), vec3(right, y + 0.022, front), shelf);
        let mut z = back + 0.10;
        while z < front - 0.12 {
            let raw = rng.uniform() < 0.5;
            let glaze = if raw { Glaze::Terracotta } else { Glaze::Shino };
            let shape = [Shape::Bowl, Shape::Beaker, Shape::Vase][(rng.uniform() * 3.0) as usize];
            let x = left + 0.2 + rng.between(-0.08, 0.08) as f32;
            pots::place(b, shape, glaze, vec3(x, y + 0.022, z), 0.95);
            z += 0.19 + rng.between(0.0, 0.06) as f32;
        }
    }
}
