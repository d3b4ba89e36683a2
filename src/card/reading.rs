//! One still → one card reading.

use super::advice::advice;
use super::banding::Banding;
use super::diagnosis::{
    MUCH_CLIPPED, NOTEWORTHY, card_problems, coarse, exposure_problem, other_balance,
    shot_problems, unlikely,
};
use super::evenness::Evenness;
use super::find::find;
use super::found::Found;
use super::options::CardOptions;
use super::places::Places;
use super::problem::{Problem, ProblemRecord};
use super::raw_light;
use super::record::{CardReading, CardRecord, LightReading, Residual, ShotRecord, Status};
use super::sample::{FEWEST_SAMPLES, Samples, Spots};
use super::stated_area::stated_area;
use super::surfaces::Scene;
use super::tone::{candidates, stated};
use super::uncertainty::{Estimate, estimate};
use crate::balance::{AsShot, BalanceSource, Miss, White, light_of, neutral_in};
use crate::colour::{
    Adaptation, Lab, Matrix3, TransferCurve, Xyz, illuminants, srgb, xyz_from_lab,
};
use crate::still::Still;

/// With fewer cells than this each way a picture shows neither a card's outline nor bands nor a second light, so
/// that nothing in it could be found wrong.
const FEWEST_CELLS: u32 = 16;
/// One surface that somebody named is not more uneven than this from one part to another, in stops.
const MOST_STOPS: f64 = 3.0;
/// Fewer bands than this are no flicker where two lights meet.
const FEW_BANDS: f64 = 3.0;
/// Over this many seconds mains flicker has come and gone eight times and more, and leaves no bands.
const LONGEST_BANDED: f64 = 0.08;

/// Reads the card in a still.
///
/// Never fails: what is wrong with the photo is part of the reading.
#[must_use]
pub fn read_card(still: &Still, options: &CardOptions) -> CardReading {
    let frame = &still.frame;
    let as_shot =
        options.shot_at.clone().unwrap_or_else(|| AsShot::recorded(&still.shot, &options.presets));
    let mut problems = shot_problems(still, &as_shot);
    problems.extend(other_balance(still, options));
    let scene = Scene::of(frame);
    let found = match options.area {
        _ if frame.columns.min(frame.rows) < FEWEST_CELLS => Err(Problem::PictureTooSmall {
            picture: [frame.width, frame.height],
            least: FEWEST_CELLS * frame.cell,
        }),
        Some(area) => stated_area(frame, &scene, area),
        None => find(frame, &scene),
    };
    let found = match found {
        Ok(found) => found,
        Err(problem) => {
            problems.insert(0, problem);
            let places = Places::default();
            return Reader { still, options, as_shot, places, may_be_banded: false }
                .refused(None, None, problems);
        }
    };
    if found.stated.is_some_and(|stated| stated.is_cut) {
        problems.insert(0, Problem::AreaCut { picture: [frame.width, frame.height] });
    }
    let mut samples = Samples::of(frame, &scene, &found, Spots::Mirror);
    let places = Places::of_samples(&samples);
    let mut reader = Reader { still, options, as_shot, places, may_be_banded: false };
    reader.level_by_the_sensor(&mut samples);
    if problems.contains(&Problem::NoColour) {
        return reader.refused(Some(&found), Some(&samples), problems);
    }
    if let Some(problem) = exposure_problem(&samples) {
        problems.insert(0, problem);
        return reader.refused(Some(&found), Some(&samples), problems);
    }
    if samples.cells.len() < FEWEST_SAMPLES {
        problems.insert(0, Problem::NotFound);
        return reader.refused(Some(&found), Some(&samples), problems);
    }
    reader.may_be_banded = !scene.is_printed(&found.whole);
    let (mut banding, mut evenness) = reader.looked_at(&mut samples);
    if evenness.ends.is_some() && samples.glare > NOTEWORTHY {
        // Where two lights fall on the card, the stronger one explains the part that is saturated,
        // and what that fades into shows this light.
        let mut lit = Samples::of(frame, &scene, &found, Spots::AreOverexposed);
        reader.level_by_the_sensor(&mut lit);
        let (bands, lights) = reader.looked_at(&mut lit);
        if lights.ends.is_some() {
            (samples, banding, evenness) = (lit, bands, lights);
        }
    }
    if found.stated.is_some() && evenness.stops > MOST_STOPS {
        problems.insert(0, Problem::AreaUneven { stops: evenness.stops });
        return reader.refused(Some(&found), Some(&samples), problems);
    }
    reader.places = Places::of(&samples, banding.as_ref(), &evenness);
    problems.splice(0..0, card_problems(&found, &samples, banding.as_ref(), &evenness));
    if let Some([a, b]) = &evenness.ends {
        let ends = [(a.place, a.white), (b.place, b.white)];
        if samples.clipped > MUCH_CLIPPED {
            problems.retain(|problem| !matches!(problem, Problem::PartlyClipped { .. }));
            problems.insert(0, Problem::Clipped { share: samples.clipped });
        }
        problems.insert(0, Problem::MixedLight { ends, placed: reader.is_placed() });
        return reader.refused(Some(&found), Some(&samples), problems);
    }
    reader.read(&found, &samples, banding.is_some(), problems)
}

/// What the card stands at, and the colour science that follows from it.
struct Reader<'a> {
    still: &'a Still,
    options: &'a CardOptions,
    as_shot: AsShot,
    places: Places,
    /// Whether what looks like bands may be some: lines of print are none.
    may_be_banded: bool,
}

impl Reader<'_> {
    /// The light for a colour of the card: from the sensor's own channels where the picture is raw,
    /// else at the as-shot balance or at 5500 K daylight.
    fn light(&self, linear: [f64; 3]) -> Option<White> {
        if let Some(raw) = &self.still.raw {
            let seen = raw.white_of(linear).ok()?.to_xyz();
            return White::from_xyz(self.as_if_neutral(seen)).ok();
        }
        let balance = self.balance()?;
        light_of(self.neutral(linear), self.encoding_white(), balance).ok()
    }

    /// Looks for bands, evens them out, and looks whether there is one light.
    fn looked_at(&self, samples: &mut Samples) -> (Option<Banding>, Evenness) {
        let light = |linear| self.light(linear);
        let shutter = self.still.shot.shutter_seconds.unwrap_or(0.0);
        let may_be_banded = self.may_be_banded && shutter < LONGEST_BANDED;
        let banding = if may_be_banded { Banding::of(samples) } else { None };
        let Some(banding) = banding else {
            return (None, Evenness::of(samples, None, light));
        };
        let as_found = samples.clone();
        banding.even_out(samples);
        let evenness = Evenness::of(samples, Some(&banding), light);
        if banding.number < FEW_BANDS {
            // A wide edge between two lights is much like two bands, and is the simpler reason.
            let without = Evenness::of(&as_found, None, light);
            if without.one_way || (evenness.ends.is_some() && without.ends.is_some()) {
                *samples = as_found;
                return (None, without);
            }
        }
        (Some(banding), evenness)
    }

    fn balance(&self) -> Option<White> {
        self.as_shot.white.or_else(White::photographic_daylight)
    }

    fn encoding_white(&self) -> Xyz {
        let [x, y, z] = self.still.frame.encoding.white_xyz;
        Xyz::new(x, y, z)
    }

    /// A raw picture's level is how near the sensor was to saturation, whatever the balance.
    fn level_by_the_sensor(&self, samples: &mut Samples) {
        let Some(raw) = &self.still.raw else { return };
        let Some(mean) = samples.mean(|v| v) else { return };
        let brightest = raw.saturation_of(mean).into_iter().fold(0.0, f64::max);
        samples.level = TransferCurve::Srgb.encode(brightest.clamp(0.0, 1.0));
    }

    /// Whether the light can be told: a raw picture needs no balance for that.
    fn is_placed(&self) -> bool {
        self.still.raw.is_some() || self.as_shot.white.is_some()
    }

    /// The colour of a neutral card, had it been in this one's place.
    fn neutral(&self, linear: [f64; 3]) -> Xyz {
        let [x, y, z] = Matrix3(self.still.frame.encoding.to_xyz).apply(linear);
        self.as_if_neutral(Xyz::new(x, y, z))
    }

    fn as_if_neutral(&self, colour: Xyz) -> Xyz {
        match self.options.card_lab {
            Some([l, a, b]) => {
                let d50 = illuminants::PCS_D50;
                let card = xyz_from_lab(Lab::new(l, a, b), d50);
                Adaptation::Cat16.adapt(colour, card, d50)
            }
            None => colour,
        }
    }

    fn read(
        &self,
        found: &Found,
        samples: &Samples,
        banded: bool,
        mut problems: Vec<Problem>,
    ) -> CardReading {
        let Some(mean) = samples.mean(|v| v) else {
            problems.insert(0, Problem::NotFound);
            return self.refused(Some(found), Some(samples), problems);
        };
        let balance = self.balance();
        let estimate = balance.and_then(|balance| {
            let light = |linear| self.light(linear);
            let model = self.options.model_error;
            if self.still.raw.is_some() {
                return raw_light::estimate(samples, mean, model.raw, light);
            }
            let transfer = &self.still.frame.encoding.transfer;
            let curves = match self.options.encoding {
                Some(curve) => stated(samples, mean, curve, transfer, !banded),
                None => candidates(samples, transfer, !banded),
            };
            estimate(&curves, found.coverage, balance, model, light)
        });
        let residual = self.residual(mean, estimate.as_ref());
        let (status, light) = match (&estimate, self.is_placed()) {
            (Some(estimate), true) => (Status::Read, Some(LightReading::of(estimate))),
            (None, true) => {
                problems.insert(0, Problem::NotFound);
                (Status::Refused, None)
            }
            (_, false) => (Status::ResidualOnly, None),
        };
        let unlikely = |light| unlikely(light, found.stated.is_some());
        problems.extend(light.as_ref().and_then(unlikely));
        problems.extend(light.and(estimate.as_ref()).and_then(|found| coarse(samples, found)));
        let presets = match (light, &estimate) {
            (Some(_), Some(estimate)) => Miss::of_all(&self.options.presets, estimate.white),
            _ => Vec::new(),
        };
        // A raw picture knows its light as well far from the balance as near it.
        let again_at = self.still.raw.is_none().then_some(&self.as_shot);
        let advice =
            advice(status, &problems, light.as_ref(), &presets, &residual, again_at, self.options);
        CardReading {
            status,
            card: self.card(Some(found), Some(samples), &problems),
            shot: self.shot(),
            residual: Some(residual),
            light,
            presets,
            advice,
        }
    }

    fn refused(
        &self,
        found: Option<&Found>,
        samples: Option<&Samples>,
        mut problems: Vec<Problem>,
    ) -> CardReading {
        // What refuses it is why; the rest is worth a note.
        problems.sort_by_key(|problem| !problem.refuses());
        let refusing = problems.iter().filter(|problem| problem.refuses());
        let advice = refusing.map(|problem| problem.advice(self.options.told)).collect();
        CardReading {
            status: Status::Refused,
            card: self.card(found, samples, &problems),
            shot: self.shot(),
            residual: None,
            light: None,
            presets: Vec::new(),
            advice,
        }
    }

    fn residual(&self, mean: [f64; 3], estimate: Option<&Estimate>) -> Residual {
        let encoding_white = illuminants::ENCODING_D65.to_xyz();
        // A raw picture is in no balance yet: where the user states another one than it was scaled
        // by, the residual is what that one would leave.
        let stated = self
            .as_shot
            .white
            .filter(|_| self.still.raw.is_some() && self.as_shot.source == BalanceSource::Flag);
        let colour = match (stated, estimate) {
            (Some(balance), Some(found)) => neutral_in(found.white, balance, encoding_white),
            _ => Adaptation::Cat16.adapt(self.neutral(mean), self.encoding_white(), encoding_white),
        };
        let [r, g, b] = {
            let rgb = srgb::from_xyz(colour);
            [rgb.red, rgb.green, rgb.blue]
        };
        let largest = r.max(g).max(b).max(f64::MIN_POSITIVE);
        let miss = estimate.zip(self.balance()).map(|(estimate, balance)| {
            (
                (estimate.white.mired() - balance.mired()).get(),
                (estimate.white.duv - balance.duv).get(),
            )
        });
        Residual {
            white_linear_srgb: [r, g, b].map(|v| v / largest),
            mired: miss.map(|(mired, _)| mired),
            duv: miss.map(|(_, duv)| duv),
        }
    }

    fn card(
        &self,
        found: Option<&Found>,
        samples: Option<&Samples>,
        problems: &[Problem],
    ) -> CardRecord {
        let frame = &self.still.frame;
        let pixels = |[x, y]: [f64; 2]| {
            let cell = f64::from(frame.cell);
            [(x * cell).min(f64::from(frame.width)), (y * cell).min(f64::from(frame.height))]
        };
        CardRecord {
            coverage: found.map_or(0.0, |found| found.coverage),
            area: found.map_or_else(Vec::new, |found| found.corners.map(pixels).to_vec()),
            level: samples.map(|samples| samples.level),
            stated: self.options.area.is_some(),
            problems: problems
                .iter()
                .map(|problem| ProblemRecord {
                    places: self.places.of_problem(problem, frame),
                    ..ProblemRecord::from(problem)
                })
                .collect(),
        }
    }

    fn shot(&self) -> ShotRecord {
        ShotRecord::of(&self.still.shot, &self.as_shot)
    }
}
