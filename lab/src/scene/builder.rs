//! Gathers a scene while it is being furnished.

use super::light::{Emitter, GROUPS};
use super::material::Material;
use super::mesh::Mesh;

/// Triangles, materials and lights so far.
#[derive(Debug, Default)]
pub(super) struct Builder {
    pub(super) mesh: Mesh,
    pub(super) materials: Vec<Material>,
    pub(super) emitters: [Vec<Emitter>; GROUPS],
}

impl Builder {
    /// Adds a material; the index is what shapes refer to it by.
    pub(super) fn material(&mut self, material: Material) -> u32 {
        self.materials.push(material);
        self.materials.len() as u32 - 1
    }
}
