//! Follows light backwards from the camera through the scene.

use super::bands::{BANDS, Bands, product};
use super::bvh::{Bvh, Meeting};
use super::light::{GROUPS, Light, WINDOW, outdoors};
use super::material::{Emission, Finish, Material, Surface};
use super::vec3::Vec3;
use crate::rng::Rng;

/// Light that arrives at a place, by group and band.
pub(super) type Arriving = [Bands; GROUPS];

/// How many times diffuse light is followed on from the surface the camera sees.
const BOUNCES: usize = 2;
/// No one sighting of a light counts for more on the surface the camera sees, nor on those further on: lamps very near
/// a surface would leave sparks in the picture.
const BRIGHTEST: [f32; 2] = [40.0, 1.5];
/// Rays start this far off the surface, metres.
const LIFT: f32 = 2e-4;
/// The golden ratio's relatives in the plane: a sequence that fills the unit square evenly (Roberts, 2018).
const EVEN: (f32, f32) = (0.754_877_7, 0.569_840_3);

/// Geometry, materials and lights, ready to follow rays through.
#[derive(Debug)]
pub(super) struct Tracer {
    pub(super) bvh: Bvh,
    pub(super) materials: Vec<Material>,
    pub(super) lights: [Option<Light>; GROUPS],
}

/// A place on a surface, seen from the front.
struct Hit {
    place: Vec3,
    flat_normal: Vec3,
    surface: Surface,
    emission: Option<Emission>,
}

/// Which lamp of a group to look at, and where on it: random numbers in [0, 1).
#[derive(Debug, Clone, Copy)]
struct Aim {
    square: (f32, f32),
    pick: f32,
}

/// Even random numbers for one pixel's samples.
#[derive(Debug, Clone, Copy)]
pub(super) struct Evenly {
    offset: (f32, f32),
    index: u32,
}

impl Evenly {
    pub(super) fn new(rng: &mut Rng, index: u32, offset: Option<(f32, f32)>) -> Self {
        let offset = offset.unwrap_or_else(|| (rng.uniform_f32(), rng.uniform_f32()));
        Self { offset, index }
    }

    fn pair(self, dimension: u32) -> (f32, f32) {
        let (i, d) = (self.index as f32, dimension as f32);
        (
            (self.offset.0 + i * EVEN.0 + d * 0.381_966).fract(),
            (self.offset.1 + i * EVEN.1 + d * 0.618_034).fract(),
        )
    }
}

/// What one ray of the camera saw.
pub(super) struct Seen {
    /// Light that falls on the first surface over π, if there is one that scatters.
    pub(super) arriving: Option<Arriving>,
    /// The first surface's reflectance.
    pub(super) reflectance: Bands,
    /// Light straight from lamps, sky and mirror images.
    pub(super) direct: Arriving,
    pub(super) normal: Vec3,
    pub(super) place: Vec3,
}

impl Tracer {
    fn active(&self) -> impl Iterator<Item = (usize, &Light)> {
        let groups = self.lights.iter().enumerate();
        groups.filter_map(|(group, light)| light.as_ref().map(|light| (group, light)))
    }

    fn hit(&self, origin: Vec3, direction: Vec3, meeting: Meeting, finely: bool) -> Hit {
        let triangle = self.bvh.triangle(meeting.triangle);
        let (u, v) = meeting.weights;
        let [a, b, c] = triangle.corners;
        let face = (b - a).cross(c - a).unit();
        let [na, nb, nc] = triangle.normals;
        let smooth = (na * (1.0 - u - v) + nb * u + nc * v).unit();
        let place = origin + direction * meeting.distance;
        let front = face.dot(direction) < 0.0;
        let material = &self.materials[triangle.material as usize];
        let (flat_normal, smooth) = if front { (face, smooth) } else { (-face, -smooth) };
        Hit {
            place,
            flat_normal,
            surface: if finely { material.at(place, smooth) } else { material.coarsely(smooth) },
            // Lamps shine to their front only.
            emission: material.emission.filter(|_| front),
        }
    }

    /// What a lamp gives off, if it is one and switched on.
    fn lit(&self, hit: &Hit) -> Option<Emission> {
        hit.emission.filter(|emission| self.lights[emission.group].is_some())
    }

    /// Adds what one group of lights sends straight to a place, over π and times the cosine.
    fn add_lit(
        &self,
        light: &Light,
        hit: &Hit,
        aim: Aim,
        weight: &Bands,
        brightest: f32,
        sum: &mut Bands,
    ) {
        let count = light.emitters.len();
        let Some(emitter) = light.emitters.get(((aim.pick * count as f32) as usize).min(count - 1))
        else {
            return;
        };
        let start = hit.place + hit.flat_normal * LIFT;
        let Some(sighting) = emitter.sighted(start, aim.square) else { return };
        let cos = hit.surface.normal.dot(sighting.direction);
        if cos <= 0.0 || hit.flat_normal.dot(sighting.direction) <= 0.0 {
            return;
        }
        if self.bvh.blocked(start, sighting.direction, sighting.distance) {
            return;
        }
        let factor = cos * count as f32 * std::f32::consts::FRAC_1_PI;
        for band in 0..BANDS {
            sum[band] += weight[band] * (sighting.arriving[band] * factor).min(brightest);
        }
    }

    /// Light that falls on a place, over π: straight from the lights and by way of other surfaces.
    fn arriving(&self, hit: Hit, rng: &mut Rng, even: Option<Evenly>, bounces: usize) -> Arriving {
        let mut sum = [[0.0; BANDS]; GROUPS];
        let mut weight = [1.0; BANDS];
        let mut hit = hit;
        let groups = self.active().count();
        for vertex in 0..=bounces {
            if vertex == 0 {
                for (group, light) in self.active() {
                    let square = match even {
                        Some(even) => even.pair(group as u32),
                        None => (rng.uniform_f32(), rng.uniform_f32()),
                    };
                    let pick = rng.uniform_f32();
                    let aim = Aim { square, pick };
                    self.add_lit(light, &hit, aim, &weight, BRIGHTEST[0], &mut sum[group]);
                }
            } else {
                // One group at a time further on: it halves the work, and the noise is small there.
                let chosen = ((rng.uniform_f32() * groups as f32) as usize).min(groups.max(1) - 1);
                if let Some((group, light)) = self.active().nth(chosen) {
                    let square = (rng.uniform_f32(), rng.uniform_f32());
                    let pick = rng.uniform_f32();
                    let weight = weight.map(|w| w * groups as f32);
                    let aim = Aim { square, pick };
                    self.add_lit(light, &hit, aim, &weight, BRIGHTEST[1], &mut sum[group]);
                }
            }
            if vertex == bounces {
                break;
            }
            let (u, v) = match even {
                Some(even) if vertex == 0 => even.pair(7),
                _ => (rng.uniform_f32(), rng.uniform_f32()),
            };
            let direction = cosine_direction(hit.surface.normal, u, v);
            if direction.dot(hit.flat_normal) <= 0.0 {
                break;
            }
            let start = hit.place + hit.flat_normal * LIFT;
            let Some(meeting) = self.bvh.first(start, direction, f32::INFINITY) else { break };
            hit = self.hit(start, direction, meeting, false);
            if hit.emission.is_some() {
                break;
            }
            weight = product(&weight, &scattered(&hit.surface));
        }
        sum
    }

    /// Follows one ray of the camera.
    pub(super) fn see(&self, origin: Vec3, direction: Vec3, rng: &mut Rng, even: Evenly) -> Seen {
        let mut seen = Seen {
            arriving: None,
            reflectance: [0.0; BANDS],
            direct: [[0.0; BANDS]; GROUPS],
            normal: -direction,
            place: origin + direction * 100.0,
        };
        let Some(meeting) = self.bvh.first(origin, direction, f32::INFINITY) else {
            if self.lights[WINDOW].is_some() {
                seen.direct[WINDOW] = outdoors(direction);
            }
            return seen;
        };
        let hit = self.hit(origin, direction, meeting, true);
        seen.normal = hit.surface.normal;
        seen.place = hit.place;
        if let Some(Emission { group, radiance }) = self.lit(&hit) {
            seen.direct[group] = [radiance; BANDS];
            return seen;
        }
        seen.reflectance = scattered(&hit.surface);
        self.add_mirrored(&hit, direction, rng, &mut seen.direct);
        seen.arriving = Some(self.arriving(hit, rng, Some(even), BOUNCES));
        seen
    }

    /// Adds what a surface's finish mirrors towards the eye.
    fn add_mirrored(&self, hit: &Hit, direction: Vec3, rng: &mut Rng, direct: &mut Arriving) {
        let normal = hit.surface.normal;
        let facing = (-normal.dot(direction)).clamp(0.0, 1.0);
        let share = |straight: f32| straight + (1.0 - straight) * (1.0 - facing).powi(5);
        match hit.surface.finish {
            Finish::Matt => {}
            Finish::Satin { exponent } => {
                let start = hit.place + hit.flat_normal * LIFT;
                for (group, light) in self.active() {
                    for emitter in &light.emitters {
                        let square = (rng.uniform_f32(), rng.uniform_f32());
                        let Some(sighting) = emitter.sighted(start, square) else { continue };
                        let cos = normal.dot(sighting.direction);
                        if cos <= 0.0
                            || self.bvh.blocked(start, sighting.direction, sighting.distance)
                        {
                            continue;
                        }
                        // Normalised Blinn highlight.
                        let half = (sighting.direction - direction).unit();
                        let lobe = (exponent + 8.0) / (8.0 * std::f32::consts::PI)
                            * normal.dot(half).max(0.0).powf(exponent);
                        let factor = share(0.045) * lobe * cos;
                        let image = sighting.arriving.map(|v| (v * factor).min(BRIGHTEST[0]));
                        add(&mut direct[group], &image);
                    }
                }
            }
            Finish::Gloss { blur } => {
                let weight = [share(0.045); BANDS];
                self.add_image(hit, direction, blur, &weight, rng, direct);
            }
            Finish::Metal { blur } => {
                let weight = hit.surface.reflectance.map(|r| r * share(0.8).min(1.0));
                self.add_image(hit, direction, blur, &weight, rng, direct);
            }
        }
    }

    fn add_image(
        &self,
        hit: &Hit,
        direction: Vec3,
        blur: f32,
        weight: &Bands,
        rng: &mut Rng,
        direct: &mut Arriving,
    ) {
        let normal = hit.surface.normal;
        let mirrored = direction - normal * (2.0 * direction.dot(normal));
        let mut stray = || (rng.uniform_f32() + rng.uniform_f32() - 1.0) * blur;
        let (x, y, z) = (stray(), stray(), stray());
        let ray = (mirrored + super::vec3::vec3(x, y, z)).unit();
        if ray.dot(hit.flat_normal) <= 0.0 {
            return;
        }
        let start = hit.place + hit.flat_normal * LIFT;
        let Some(meeting) = self.bvh.first(start, ray, f32::INFINITY) else {
            if self.lights[WINDOW].is_some() {
                let sky = product(&outdoors(ray), weight);
                add(&mut direct[WINDOW], &sky);
            }
            return;
        };
        let other = self.hit(start, ray, meeting, false);
        if let Some(Emission { group, radiance }) = self.lit(&other) {
            add(&mut direct[group], &weight.map(|w| w * radiance));
            return;
        }
        let reflectance = product(&scattered(&other.surface), weight);
        let arriving = self.arriving(other, rng, None, 1);
        for (sum, light) in direct.iter_mut().zip(&arriving) {
            add(sum, &product(light, &reflectance));
        }
    }

    /// Light that falls on a place of a given outlook, over π, averaged over many paths.
    pub(super) fn probe(&self, place: Vec3, normal: Vec3, paths: u32, seed: u64) -> Arriving {
        let mut rng = Rng::new(seed);
        let mut mean = [[0.0; BANDS]; GROUPS];
        for index in 0..paths {
            let even = Evenly::new(&mut rng, index, Some((0.5, 0.5)));
            let surface = Surface { reflectance: [0.0; BANDS], normal, finish: Finish::Matt };
            let hit = Hit { place, flat_normal: normal, surface, emission: None };
            let arriving = self.arriving(hit, &mut rng, Some(even), BOUNCES + 2);
            for (sum, light) in mean.iter_mut().zip(&arriving) {
                add(sum, &light.map(|value| value / paths as f32));
            }
        }
        mean
    }
}

/// Share of the light a surface scatters; metal mirrors most of its own.
fn scattered(surface: &Surface) -> Bands {
    match surface.finish {
        Finish::Metal { .. } => surface.reflectance.map(|r| r * 0.35),
        _ => surface.reflectance,
    }
}

fn add(sum: &mut Bands, more: &Bands) {
    for (sum, more) in sum.iter_mut().zip(more) {
        *sum += more;
    }
}

fn cosine_direction(normal: Vec3, u: f32, v: f32) -> Vec3 {
    let (a, b) = normal.frame();
    let (sin, cos) = (v * std::f32::consts::TAU).sin_cos();
    let radius = u.sqrt();
    (a * (radius * cos) + b * (radius * sin) + normal * (1.0 - u).max(0.0).sqrt()).unit()
}
