//! The white card: its place in the studio.

use super::card_face::{CardFace, Marks};
use super::material::{Finish, Material, Pattern};
use super::mesh::Mesh;
use super::palette;
use super::vec3::Vec3;

/// A card standing in the studio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CardPlace {
    /// Middle of the face, metres.
    pub centre: Vec3,
    /// The direction the face looks in.
    pub facing: Vec3,
    /// Turn in its own plane, radians, anticlockwise as seen.
    pub roll: f32,
    /// Width, metres; the height is 0.7 of it.
    pub width: f32,
    /// What is on it.
    pub marks: Marks,
    /// How its surface mirrors.
    pub finish: Finish,
}

/// Height of a card of width 1.
const HEIGHT: f32 = 0.7;

impl CardPlace {
    /// Directions to the right and up on the face, of length 1.
    #[must_use]
    pub fn axes(&self) -> (Vec3, Vec3) {
        let level = Vec3::UP.cross(self.facing.unit()).unit();
        let up = self.facing.unit().cross(level);
        let (sin, cos) = self.roll.sin_cos();
        (level * cos + up * sin, up * cos - level * sin)
    }

    /// A place on the face: 0, 0 is its lower left corner, 1, 1 its upper right.
    #[must_use]
    pub fn point(&self, across: f32, up: f32) -> Vec3 {
        let (u, v) = self.axes();
        self.centre + u * ((across - 0.5) * self.width) + v * ((up - 0.5) * self.width * HEIGHT)
    }

    /// Adds the card to a mesh; its material goes to the end of the list.
    pub(super) fn add_to(&self, mesh: &mut Mesh, materials: &mut Vec<Material>) {
        let (u, v) = self.axes();
        let face =
            CardFace { corner: self.point(0.0, 0.0), u, v, width: self.width, marks: self.marks };
        let material = Material::plain(palette::card())
            .with(Pattern::Card(face), palette::graphite())
            .finished(self.finish);
        let index = materials.len() as u32;
        materials.push(material);
        let thickness = 0.0018;
        mesh.solid(
            self.centre - self.facing.unit() * (thickness * 0.5),
            u * self.width,
            v * (self.width * HEIGHT),
            self.facing.unit() * thickness,
            index,
        );
    }
}
