//! Bench, wheel, shelves, lamps and the things that lie about.

use super::Prop;
use super::builder::Builder;
use super::light::{Emitter, LAMPS};
use super::material::{Finish, Material, Pattern};
use super::mesh::smooth_profile;
use super::palette;
use super::pots::{self, Glaze, Shape};
use super::room::{BACK, CEILING, LEFT, SILL};
use super::vec3::{Vec3, vec3};
use crate::rng::Rng;

/// Height of the bench's top, metres.
pub(super) const BENCH: f32 = 0.90;
/// Radiance of a bulb, in units of the sky's.
const BULB_RADIANCE: f32 = 110.0;
const BULB_RADIUS: f32 = 0.05;

pub(super) fn build(b: &mut Builder) {
    shelves(b);
    bench(b);
    wheel(b, vec3(-1.45, 0.0, -2.0));
    window_sill(b);
    stool(b, vec3(-0.72, 0.0, -1.62));
    sacks(b);
    apron(b, vec3(1.28, 1.72, BACK + 0.03));
    lamp(b, vec3(0.15, 1.86, -2.20));
    lamp(b, vec3(1.25, 1.86, -2.25));
}

pub(super) fn add_prop(b: &mut Builder, prop: &Prop) {
    match *prop {
        Prop::Board { centre, size, turn } => {
            let wood = b.material(
                Material::plain(palette::pine())
                    .with(Pattern::Grain { along: 1 }, palette::pine_dark()),
            );
            b.mesh.turned_block(centre, size, turn, wood);
        }
        Prop::Thumb { from, tip } => thumb(b, from, tip),
        Prop::Lamp { bulb } => lamp(b, bulb),
    }
}

fn wood(b: &mut Builder, along: usize) -> u32 {
    b.material(Material::plain(palette::oak()).with(Pattern::Grain { along }, palette::oak_dark()))
}

fn shelves(b: &mut Builder) {
    let board = b.material(
        Material::plain(palette::pine()).with(Pattern::Grain { along: 0 }, palette::pine_dark()),
    );
    let iron = b.material(Material::plain(palette::iron()));
    let (left, right, deep) = (-2.25, 0.85, 0.30);
    let mut rng = Rng::new(2024);
    let heights = [0.52, 0.98, 1.40, 1.80, 2.18];
    for (index, &y) in heights.iter().enumerate() {
        b.mesh.block(vec3(left, y, BACK), vec3(right, y + 0.028, BACK + deep), board);
        let headroom = heights.get(index + 1).map_or(0.36, |next| next - y - 0.06);
        let from = vec3(left, y + 0.028, BACK + 0.15);
        pots::row(b, from, right, headroom, &mut rng);
    }
    for x in [left + 0.05, -0.75, right - 0.05] {
        b.mesh.block(vec3(x - 0.018, 0.0, BACK), vec3(x + 0.018, 2.5, BACK + 0.03), iron);
        for y in heights {
            b.mesh.block(
                vec3(x - 0.012, y - 0.03, BACK),
                vec3(x + 0.012, y, BACK + deep - 0.03),
                iron,
            );
        }
    }
    // Big storage jars on the floor under the lowest board.
    let jars = [
        (-2.0, Glaze::Tenmoku),
        (-1.55, Glaze::Ochre),
        (-0.2, Glaze::Terracotta),
        (0.4, Glaze::Celadon),
    ];
    for (x, glaze) in jars {
        pots::place(b, Shape::Jar, glaze, vec3(x, 0.0, BACK + 0.25), 1.9);
    }
}

fn bench(b: &mut Builder) {
    let top = wood(b, 0);
    let leg = wood(b, 1);
    let (left, right, back, front) = (-0.55, 1.75, -3.05, -2.20);
    // Three planks with a hair between them.
    for plank in 0..3 {
        let z = back + (front - back) * plank as f32 / 3.0;
        let next = back + (front - back) * (plank + 1) as f32 / 3.0 - 0.004;
        b.mesh.block(vec3(left, BENCH - 0.05, z), vec3(right, BENCH, next), top);
    }
    for x in [left + 0.08, right - 0.18] {
        for z in [back + 0.05, front - 0.14] {
            b.mesh.block(vec3(x, 0.0, z), vec3(x + 0.09, BENCH - 0.05, z + 0.09), leg);
        }
    }
    b.mesh.block(vec3(left + 0.08, 0.66, front - 0.08), vec3(right - 0.1, 0.85, front - 0.05), top);
    b.mesh.block(vec3(left + 0.1, 0.22, back + 0.06), vec3(right - 0.1, 0.25, front - 0.08), top);

    // Under the bench: buckets of glaze and a crate.
    for (x, colour) in [
        (0.0, palette::white_paint()),
        (0.34, palette::blue_plastic()),
        (1.42, palette::white_paint()),
    ] {
        let pail = b.material(
            Material::plain(colour)
                .with(Pattern::Splashed, palette::wet_clay())
                .finished(Finish::Gloss { blur: 0.08 }),
        );
        let profile = [
            (0.0, 0.0),
            (0.105, 0.0),
            (0.105, 0.0),
            (0.135, 0.28),
            (0.142, 0.285),
            (0.142, 0.30),
            (0.130, 0.30),
            (0.130, 0.30),
            (0.105, 0.10),
            (0.0, 0.10),
        ];
        b.mesh.turned(vec3(x, 0.25, -2.58), &profile, 28, pail);
    }
    let crate_wood = wood(b, 0);
    for y in [0.27, 0.37, 0.47] {
        b.mesh.block(vec3(0.68, y, -2.42), vec3(1.18, y + 0.08, -2.405), crate_wood);
        b.mesh.block(vec3(0.68, y, -2.80), vec3(0.695, y + 0.08, -2.42), crate_wood);
    }
    on_the_bench(b);
}

/// Pots that dry, a block of clay on its board, tools in a jar, a towel.
fn on_the_bench(b: &mut Builder) {
    let bat = b.material(
        Material::plain(palette::pine()).with(Pattern::Grain { along: 0 }, palette::pine_dark()),
    );
    b.mesh.block(vec3(0.62, BENCH, -2.98), vec3(1.62, BENCH + 0.02, -2.72), bat);
    for (i, x) in [0.72, 0.87, 1.02, 1.17, 1.32, 1.48].into_iter().enumerate() {
        let shape = if i < 3 { Shape::Bowl } else { Shape::Beaker };
        pots::place(b, shape, Glaze::Raw, vec3(x, BENCH + 0.02, -2.85), 0.86);
    }
    let clay = b.material(
        Material::plain(palette::wet_clay()).with(Pattern::Splashed, palette::stoneware()),
    );
    b.mesh.turned_block(vec3(1.38, BENCH + 0.075, -2.45), vec3(0.24, 0.15, 0.17), 0.35, clay);
    b.mesh.turned_block(vec3(1.02, BENCH + 0.03, -2.38), vec3(0.11, 0.06, 0.09), -0.5, clay);

    let tools = vec3(-0.33, BENCH, -2.82);
    pots::place(b, Shape::Beaker, Glaze::Cobalt, tools, 1.25);
    let handle = wood(b, 1);
    let steel = b.material(Material::plain(palette::steel()).finished(Finish::Metal { blur: 0.1 }));
    let lean = [(0.03, 0.02), (-0.035, 0.0), (0.0, -0.03), (0.02, 0.035), (-0.02, 0.03)];
    for (i, (dx, dz)) in lean.into_iter().enumerate() {
        let tip = tools + vec3(dx * 1.8, 0.24 + 0.015 * i as f32, dz * 1.8);
        b.mesh.bar(tools + vec3(-dx * 0.5, 0.02, -dz * 0.5), tip, 0.0045, handle);
        if i % 2 == 0 {
            b.mesh.bar(tip, tip + vec3(dx * 0.4, 0.06, dz * 0.4), 0.003, steel);
        } else {
            b.mesh.bar(tip, tip + vec3(dx * 0.3, 0.05, dz * 0.3), 0.010, handle);
        }
    }
    // A rib, a needle and a sponge left out.
    b.mesh.bar(vec3(0.42, BENCH + 0.008, -2.33), vec3(0.62, BENCH + 0.008, -2.41), 0.007, handle);
    b.mesh.bar(vec3(0.62, BENCH + 0.008, -2.41), vec3(0.70, BENCH + 0.008, -2.44), 0.002, steel);
    let sponge =
        b.material(Material::plain(palette::ochre()).with(Pattern::Splashed, palette::wet_clay()));
    let blob = [(0.0, 0.0), (0.035, 0.004), (0.046, 0.02), (0.036, 0.038), (0.0, 0.042)];
    b.mesh.turned(vec3(0.84, BENCH, -2.32), &smooth_profile(&blob, 4), 18, sponge);
    for (shape, glaze, x, z, scale) in [
        (Shape::Vase, Glaze::Celadon, -0.12, -2.88, 1.0),
        (Shape::Jar, Glaze::Tenmoku, 0.12, -2.86, 0.95),
        (Shape::Mug, Glaze::Shino, 0.36, -2.74, 0.95),
        (Shape::Bowl, Glaze::Turquoise, -0.36, -2.42, 0.9),
    ] {
        pots::place(b, shape, glaze, vec3(x, BENCH, z), scale);
    }
}

/// A potter's wheel with a fresh bowl on it.
fn wheel(b: &mut Builder, at: Vec3) {
    let body = b.material(
        Material::plain(palette::blue_plastic().map(|v| v * 0.55 + 0.03))
            .with(Pattern::Splashed, palette::wet_clay()),
    );
    let pan = b.material(
        Material::plain(palette::white_paint().map(|v| v * 0.8))
            .with(Pattern::Splashed, palette::wet_clay())
            .finished(Finish::Gloss { blur: 0.08 }),
    );
    let head = b.material(
        Material::plain(palette::steel())
            .with(Pattern::Splashed, palette::wet_clay())
            .finished(Finish::Metal { blur: 0.06 }),
    );
    let iron = b.material(Material::plain(palette::iron()));
    b.mesh.turned_block(at + vec3(0.0, 0.33, 0.0), vec3(0.58, 0.34, 0.62), 0.2, body);
    for (x, z) in [(-0.24, -0.26), (0.24, -0.26), (-0.24, 0.26), (0.24, 0.26)] {
        let foot = at + vec3(x, 0.0, z).turned(0.2);
        b.mesh.turned_block(foot + vec3(0.0, 0.09, 0.0), vec3(0.06, 0.18, 0.06), 0.2, iron);
    }
    let basin = [
        (0.0, 0.50),
        (0.33, 0.50),
        (0.35, 0.52),
        (0.36, 0.62),
        (0.36, 0.625),
        (0.345, 0.625),
        (0.335, 0.53),
        (0.0, 0.515),
    ];
    b.mesh.turned(at, &basin, 44, pan);
    let disc =
        [(0.05, 0.515), (0.05, 0.575), (0.175, 0.58), (0.175, 0.60), (0.175, 0.60), (0.0, 0.60)];
    b.mesh.turned(at, &disc, 40, head);
    pots::place(b, Shape::Bowl, Glaze::Raw, at + vec3(0.0, 0.60, 0.0), 1.55);
    pots::place(b, Shape::Bowl, Glaze::Porcelain, at + vec3(0.25, 0.63, 0.27).turned(0.2), 0.62);
}

fn window_sill(b: &mut Builder) {
    for (shape, glaze, z, scale) in [
        (Shape::Bottle, Glaze::Turquoise, -3.15, 0.9),
        (Shape::Vase, Glaze::Porcelain, -2.86, 0.8),
        (Shape::Bottle, Glaze::CopperRed, -1.95, 0.75),
        (Shape::Beaker, Glaze::Terracotta, -1.68, 1.0),
    ] {
        pots::place(b, shape, glaze, vec3(LEFT - 0.06, SILL + 0.03, z), scale);
    }
}

fn stool(b: &mut Builder, at: Vec3) {
    let seat = wood(b, 0);
    let leg = wood(b, 1);
    let round =
        [(0.0, 0.42), (0.15, 0.42), (0.165, 0.43), (0.165, 0.455), (0.15, 0.465), (0.0, 0.46)];
    b.mesh.turned(at, &round, 30, seat);
    for turn in 0..3 {
        let out = vec3(0.10, 0.0, 0.0).turned(turn as f32 * 2.094 + 0.4);
        b.mesh.bar(at + vec3(0.0, 0.43, 0.0) + out, at + out * 1.9, 0.016, leg);
    }
}

/// Sacks of clay against the back of the room.
fn sacks(b: &mut Builder) {
    let sack =
        b.material(Material::plain(palette::sacking()).with(Pattern::Cloth, palette::wet_clay()));
    let bag = |b: &mut Builder, foot: Vec3, wide: f32, high: f32| {
        let profile = [
            (0.0, 0.0),
            (wide * 0.9, 0.01),
            (wide, high * 0.3),
            (wide * 0.92, high * 0.7),
            (wide * 0.45, high * 0.95),
            (0.0, high),
        ];
        b.mesh.turned(foot, &smooth_profile(&profile, 4), 26, sack);
    };
    bag(b, vec3(-1.05, 0.0, -3.95), 0.24, 0.34);
    bag(b, vec3(-0.62, 0.0, -3.85), 0.22, 0.30);
    bag(b, vec3(-0.85, 0.28, -3.92), 0.22, 0.26);
}

/// An apron on a hook.
fn apron(b: &mut Builder, hook: Vec3) {
    let cloth =
        b.material(Material::plain(palette::denim()).with(Pattern::Cloth, palette::stoneware()));
    let iron = b.material(Material::plain(palette::iron()));
    let (columns, rows) = (25, 31);
    let mut points = Vec::new();
    for row in 0..rows {
        let down = row as f32 / (rows - 1) as f32;
        for column in 0..columns {
            let across = column as f32 / (columns - 1) as f32 - 0.5;
            let wide = 0.10 + 0.30 * down.powf(0.6);
            let fold = (across * 21.0 + down * 1.5).sin() * 0.030 * (0.3 + down)
                + (across * 9.0 - down * 3.0).sin() * 0.022;
            points
                .push(hook + vec3(across * wide, -0.78 * down + 0.03 * across.abs(), 0.05 + fold));
        }
    }
    points.reverse();
    b.mesh.sheet(columns, &points, cloth);
    b.mesh.bar(hook + vec3(0.0, 0.02, -0.03), hook + vec3(0.0, 0.03, 0.09), 0.008, iron);
}

/// An enamel lamp on its flex.
fn lamp(b: &mut Builder, bulb: Vec3) {
    let enamel =
        b.material(Material::plain(palette::enamel_green()).finished(Finish::Gloss { blur: 0.02 }));
    let white = b.material(Material::plain(palette::white_paint()));
    let flex = b.material(Material::plain(palette::iron()));
    let glow = b.material(Material::plain(palette::white_paint()).emitting(LAMPS, BULB_RADIANCE));
    let outside = [
        (0.190, -0.045),
        (0.192, -0.038),
        (0.150, 0.030),
        (0.085, 0.090),
        (0.040, 0.115),
        (0.034, 0.165),
        (0.0, 0.175),
    ];
    let inside: Vec<(f32, f32)> =
        [(0.0, 0.105), (0.040, 0.100), (0.082, 0.078), (0.146, 0.022), (0.187, -0.045)].to_vec();
    b.mesh.turned(bulb, &smooth_profile(&outside, 4), 40, enamel);
    b.mesh.turned(bulb, &inside, 40, white);
    b.mesh.bar(bulb + vec3(0.0, 0.17, 0.0), vec3(bulb.x, CEILING, bulb.z), 0.004, flex);
    let ball: Vec<(f32, f32)> = (0..=12)
        .map(|i| {
            let (sin, cos) = (i as f32 / 12.0 * std::f32::consts::PI).sin_cos();
            (BULB_RADIUS * sin, -BULB_RADIUS * cos)
        })
        .collect();
    b.mesh.turned(bulb, &ball, 20, glow);
    b.emitters[LAMPS].push(Emitter::Bulb {
        centre: bulb,
        radius: BULB_RADIUS,
        radiance: BULB_RADIANCE,
    });
}

/// A thumb: a row of balls that swell and taper, and a nail.
fn thumb(b: &mut Builder, from: Vec3, tip: Vec3) {
    let skin =
        b.material(Material::plain(palette::skin()).with(Pattern::Splashed, palette::stoneware()));
    let axis = tip - from;
    let length = axis.length();
    let forward = axis.unit();
    let (u, v) = forward.frame();
    let (rings, sides) = (22, 20);
    let mut points = Vec::new();
    for ring in 0..=rings {
        let t = ring as f32 / rings as f32;
        let shape = 0.0105 - 0.0012 * (t * 9.0).sin() + 0.003 * (1.0 - t);
        let end = (1.0 - ((t - 0.86) / 0.14).max(0.0).powi(2)).max(0.0).sqrt();
        for side in 0..=sides {
            let (sin, cos) = (side as f32 / sides as f32 * std::f32::consts::TAU).sin_cos();
            points.push(from + forward * (t * length) + (u * cos + v * sin) * (shape * end));
        }
    }
    b.mesh.sheet(sides + 1, &points, skin);
}
