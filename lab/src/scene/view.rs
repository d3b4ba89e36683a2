//! The camera's place and lens.

use super::vec3::Vec3;

/// Where the camera stands and what it sees.
#[derive(Debug, Clone, Copy)]
pub struct View {
    /// Place of the lens, metres.
    pub eye: Vec3,
    /// Point in the middle of the picture.
    pub target: Vec3,
    /// Horizontal angle of view, degrees.
    pub angle_degrees: f32,
    /// Radius of the lens opening, metres; 0 for everything sharp.
    pub aperture: f32,
    /// Distance that is sharp, metres; to the target where `None`.
    pub focus: Option<f32>,
    /// Turn about the line of sight, radians: a hand-held camera is never quite level.
    pub roll: f32,
}

/// A view's frame, worked out once.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lens {
    eye: Vec3,
    forward: Vec3,
    right: Vec3,
    up: Vec3,
    half_width: f32,
    half_height: f32,
    aperture: f32,
    focus: f32,
}

impl View {
    pub(super) fn lens(&self, width: usize, height: usize) -> Lens {
        let forward = (self.target - self.eye).unit();
        let level = forward.cross(Vec3::UP).unit();
        let plumb = level.cross(forward);
        let (sin, cos) = self.roll.sin_cos();
        let half_width = (self.angle_degrees.to_radians() * 0.5).tan();
        Lens {
            eye: self.eye,
            forward,
            right: level * cos + plumb * sin,
            up: plumb * cos - level * sin,
            half_width,
            half_height: half_width * height as f32 / width as f32,
            aperture: self.aperture,
            focus: self.focus.unwrap_or((self.target - self.eye).length()),
        }
    }
}

impl Lens {
    /// A ray through a point of the picture (0, 0 top left; 1, 1 bottom right) and a point of the lens.
    pub(super) fn ray(&self, x: f32, y: f32, (a, b): (f32, f32)) -> (Vec3, Vec3) {
        let direction = self.forward
            + self.right * ((2.0 * x - 1.0) * self.half_width)
            + self.up * ((1.0 - 2.0 * y) * self.half_height);
        if self.aperture <= 0.0 {
            return (self.eye, direction.unit());
        }
        let (sin, cos) = (b * std::f32::consts::TAU).sin_cos();
        let radius = a.sqrt() * self.aperture;
        let origin = self.eye + self.right * (cos * radius) + self.up * (sin * radius);
        let sharp = self.eye + direction * self.focus;
        (origin, (sharp - origin).unit())
    }
}
