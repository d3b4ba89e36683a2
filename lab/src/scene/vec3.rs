//! Vectors of the renderer, in metres where they are places.

use std::ops::{Add, Mul, Neg, Sub};

/// Three numbers: a place or a direction. x runs right, y up, z towards the viewer.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Vec3 {
    /// To the right.
    pub x: f32,
    /// Up.
    pub y: f32,
    /// Towards the viewer.
    pub z: f32,
}

/// Shorthand for a [`Vec3`].
#[must_use]
pub const fn vec3(x: f32, y: f32, z: f32) -> Vec3 {
    Vec3 { x, y, z }
}

impl Vec3 {
    /// Straight up.
    pub const UP: Self = vec3(0.0, 1.0, 0.0);

    /// Scalar product.
    #[must_use]
    pub fn dot(self, other: Self) -> f32 {
        self.x * other.x + self.y * other.y + self.z * other.z
    }

    /// Vector product.
    #[must_use]
    pub fn cross(self, other: Self) -> Self {
        vec3(
            self.y * other.z - self.z * other.y,
            self.z * other.x - self.x * other.z,
            self.x * other.y - self.y * other.x,
        )
    }

    /// Length.
    #[must_use]
    pub fn length(self) -> f32 {
        self.dot(self).sqrt()
    }

    /// The direction, of length 1; up where there is none.
    #[must_use]
    pub fn unit(self) -> Self {
        let length = self.length();
        if length > 0.0 { self * (1.0 / length) } else { Self::UP }
    }

    /// Product of each component.
    #[must_use]
    pub fn times(self, other: Self) -> Self {
        vec3(self.x * other.x, self.y * other.y, self.z * other.z)
    }

    /// The lesser of each component.
    #[must_use]
    pub fn min(self, other: Self) -> Self {
        vec3(self.x.min(other.x), self.y.min(other.y), self.z.min(other.z))
    }

    /// The greater of each component.
    #[must_use]
    pub fn max(self, other: Self) -> Self {
        vec3(self.x.max(other.x), self.y.max(other.y), self.z.max(other.z))
    }

    /// Component 0, 1 or 2.
    #[must_use]
    pub fn axis(self, axis: usize) -> f32 {
        [self.x, self.y, self.z][axis]
    }

    /// Turned about the vertical axis, anticlockwise from above.
    #[must_use]
    pub fn turned(self, radians: f32) -> Self {
        let (sin, cos) = radians.sin_cos();
        vec3(self.x * cos + self.z * sin, self.y, self.z * cos - self.x * sin)
    }

    /// Two directions that with this unit one make a right-handed frame (Duff et al., 2017).
    #[must_use]
    pub fn frame(self) -> (Self, Self) {
        let sign = 1.0_f32.copysign(self.z);
        let a = -1.0 / (sign + self.z);
        let b = self.x * self.y * a;
        (
            vec3(1.0 + sign * self.x * self.x * a, sign * b, -sign * self.x),
            vec3(b, sign + self.y * self.y * a, -self.y),
        )
    }
}

impl Add for Vec3 {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        vec3(self.x + other.x, self.y + other.y, self.z + other.z)
    }
}

impl Sub for Vec3 {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        vec3(self.x - other.x, self.y - other.y, self.z - other.z)
    }
}

impl Mul<f32> for Vec3 {
    type Output = Self;
    fn mul(self, factor: f32) -> Self {
        vec3(self.x * factor, self.y * factor, self.z * factor)
    }
}

impl Neg for Vec3 {
    type Output = Self;
    fn neg(self) -> Self {
        self * -1.0
    }
}
