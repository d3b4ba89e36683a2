//! The page of a comparison of set-ups.

use askama::Template;

use super::card::Picture;
use super::cast_bar::{Bar, Reach};
use super::filters;
use super::mired::Scale;
use super::page::{About, page, rendered};
use super::swatch;
use super::thumb::{FramePicture, Room};
use super::typeset::typeset;
use super::uv::{Diagram, Mark, Path};
use crate::balance::{White, looks, looks_in_a_sentence, neutral_in_srgb};
use crate::card::LightReading;
use crate::colour::{Duv, Kelvin};
use crate::report::comparison_words::{
    camera_in_words, gel_in_words, nearest_preset, setup_in_figures, setup_in_words,
    shift_in_words, spread_in_words,
};
use crate::report::plain;
use crate::report::words::{capitalised, kelvin, sentence, signed};
use crate::setups::{Comparison, OneBalance, SetupRecord};

/// A photo of a set-up's card, small.
#[derive(Debug, Clone, PartialEq)]
pub struct SetupPicture {
    /// The set-up's name.
    pub setup: String,
    /// The photo's path.
    pub path: String,
    /// The photo.
    pub picture: FramePicture,
}

/// The whole page of a comparison; `pictures` are of its photos, as many as there are.
#[must_use]
pub fn setups_page(comparison: &Comparison, pictures: &[SetupPicture], about: &About) -> String {
    let names: Vec<_> = comparison.setups.iter().map(|setup| plain(&setup.name)).collect();
    let summary = format!("{} set-ups: {}.", names.len(), names.join(", "));
    page("Set-ups", &summary, about, &setups_section(comparison, pictures), false)
}

/// The comparison alone, as a part of a page.
fn setups_section(comparison: &Comparison, pictures: &[SetupPicture]) -> String {
    let one_balance = comparison.balance.as_ref();
    rendered(&Section {
        setups: comparison.setups.iter().map(|s| SetupView::of(s, one_balance, pictures)).collect(),
        diagram: diagram(comparison),
        marks: marks(comparison),
        scale: scale(comparison),
        shifts: shifts(comparison),
        cameras: comparison
            .cameras
            .iter()
            .map(|offset| Block {
                heading: format!("{} beside {}, in one light", offset.camera, offset.reference),
                sentences: camera_in_words(offset).iter().map(|text| typeset(text)).collect(),
                bar: None,
            })
            .map(Block::safe)
            .collect(),
        balance: one_balance.map(BalanceView::of),
        gels: comparison
            .gels
            .iter()
            .map(|gel| gel_in_words(gel).map(|text| typeset(&text)))
            .collect(),
        cautions: &comparison.cautions,
        notes: comparison.problems.iter().map(|p| typeset(&sentence(&p.message))).collect(),
        advice: comparison.advice.iter().map(|text| typeset(text)).collect(),
    })
}

#[derive(Template)]
#[template(path = "setups.html")]
struct Section<'a> {
    setups: Vec<SetupView>,
    diagram: Option<String>,
    marks: String,
    scale: Option<String>,
    shifts: Vec<Block>,
    cameras: Vec<Block>,
    balance: Option<BalanceView>,
    gels: Vec<[String; 2]>,
    cautions: &'a [String],
    notes: Vec<String>,
    advice: Vec<String>,
}

struct SetupView {
    name: String,
    words: String,
    figures: Vec<String>,
    left_out: Vec<(String, String)>,
    pictures: Vec<Picture>,
}

struct Block {
    heading: String,
    sentences: Vec<String>,
    bar: Option<String>,
}

impl Block {
    fn safe(self) -> Self {
        Self { heading: plain(&self.heading).into_owned(), ..self }
    }
}

struct BalanceView {
    heading: String,
    misses: Vec<MissView>,
    preset: Option<String>,
}

struct MissView {
    setup: String,
    swatch: String,
    figures: String,
    looks: String,
    bar: String,
}

/// More photos of one set-up than this show nothing new.
const MOST_PICTURES: usize = 6;

impl SetupView {
    fn of(setup: &SetupRecord, balance: Option<&OneBalance>, pictures: &[SetupPicture]) -> Self {
        let room = Room::for_frames(0);
        let own = pictures.iter().filter(|picture| picture.setup == setup.name);
        let shown = own.take(MOST_PICTURES).filter_map(|picture| {
            let pair = picture.picture.pair(None, room)?;
            let name = plain(&picture.path);
            Some(Picture::of(&pair.as_shot, format!("{name}, as it came out")))
        });
        let under =
            balance.and_then(|balance| balance.misses.iter().find(|m| m.setup == setup.name));
        let looks = under.map(|miss| {
            format!("Under one balance for all it looks {}", looks_in_a_sentence(&miss.appearance))
        });
        let figures =
            setup_in_figures(setup).into_iter().chain(spread_in_words(setup)).chain(looks);
        Self {
            name: plain(&setup.name).into_owned(),
            words: typeset(&capitalised(&setup_in_words(setup))),
            figures: figures.map(|text| typeset(&text)).collect(),
            left_out: setup
                .left_out
                .iter()
                .map(|out| (plain(&out.path).into_owned(), typeset(&sentence(&out.message))))
                .collect(),
            pictures: shown.collect(),
        }
    }
}

impl BalanceView {
    fn of(balance: &OneBalance) -> Self {
        let reach = Reach::of(balance.misses.iter().map(|miss| miss.mired));
        let misses = balance.misses.iter().map(|miss| {
            let setup = plain(&miss.setup).into_owned();
            let figures = format!("{} mired, Duv {}", signed(miss.mired, 0), signed(miss.duv, 4));
            let looks = looks(&miss.appearance);
            let words = format!("{setup} under one balance: {looks}, {figures}");
            let colour = under_balance(miss.mired, miss.duv, balance).unwrap_or([1.0; 3]);
            MissView {
                swatch: swatch::pair(colour, 0.8, &format!("{words}; beside it neutral")),
                bar: Bar::of_miss(miss.mired, None, reach).draw(&words),
                figures: typeset(&figures),
                looks: capitalised(&looks),
                setup,
            }
        });
        Self {
            heading: typeset(&format!(
                "One balance for all: {} K, Duv {}",
                kelvin(balance.kelvin),
                signed(balance.duv, 4)
            )),
            misses: misses.collect(),
            preset: nearest_preset(balance).map(|text| typeset(&text)),
        }
    }
}

/// The colour of something neutral in a light so far from the balance.
fn under_balance(mired: f64, duv: f64, balance: &OneBalance) -> Option<[f64; 3]> {
    let white = |kelvin: f64, duv: f64| White::new(Kelvin::new(kelvin).ok()?, Duv::new(duv)).ok();
    let light = white(1e6 / (1e6 / balance.kelvin + mired), balance.duv + duv)?;
    let balance = white(balance.kelvin, balance.duv)?;
    Some(neutral_in_srgb(light, balance))
}

fn shifts(comparison: &Comparison) -> Vec<Block> {
    let reach = Reach::of(comparison.shifts.iter().map(|shift| shift.mired));
    let block = |shift: &crate::setups::Shift| {
        let words = shift_in_words(shift);
        let [_, figures, _] = &words;
        let alternative = format!("From {} to {}: {figures}", plain(&shift.from), plain(&shift.to));
        Block {
            heading: format!("From {} to {}", shift.from, shift.to),
            sentences: words.iter().map(|text| typeset(text)).collect(),
            bar: Some(
                Bar::of_miss(shift.mired, Some(shift.mired_interval), reach).draw(&alternative),
            ),
        }
        .safe()
    };
    comparison.shifts.iter().map(block).collect()
}

fn lights(comparison: &Comparison) -> Vec<(&str, &LightReading)> {
    let light = |setup: &SetupRecord| setup.light.is_some();
    let known = comparison.setups.iter().filter(|setup| light(setup));
    known.filter_map(|setup| Some((setup.name.as_str(), setup.light.as_ref()?))).collect()
}

/// More shifts than this are arrows over arrows.
const MOST_ARROWS: usize = 3;

/// What the caption says of marks that are drawn.
fn marks(comparison: &Comparison) -> String {
    let mut said = Vec::new();
    if !comparison.shifts.is_empty() {
        said.push("the dark arrow is the shift from one light to the next");
    }
    if !comparison.gels.is_empty() {
        said.push("the broken arrow is what a gel does");
    }
    if comparison.balance.is_some() {
        said.push("the cross is the one balance for all");
    }
    if said.is_empty() {
        return String::new();
    }
    format!(" {}.", capitalised(&said.join("; ")))
}

fn diagram(comparison: &Comparison) -> Option<String> {
    let lights = lights(comparison);
    let named =
        |name: &str| lights.iter().find(|(other, _)| *other == name).map(|(_, light)| *light);
    let mut diagram = Diagram::default();
    for shift in comparison.shifts.iter().take(MOST_ARROWS) {
        if let (Some(from), Some(to)) = (named(&shift.from), named(&shift.to)) {
            diagram.path(Path::Shift, [from.mired, from.duv], [to.mired, to.duv]);
        }
    }
    for gel in comparison.gels.iter().take(MOST_ARROWS) {
        if let (Some(on), Some(toward)) = (named(&gel.on), named(&gel.toward)) {
            let [mired, duv] = [toward.mired + gel.left_mired, toward.duv + gel.left_duv];
            diagram.path(Path::Gel, [on.mired, on.duv], [mired, duv]);
            diagram.mark(Mark::Gelled, &plain(&gel.gel), 1e6 / mired, duv);
        }
    }
    if let Some(balance) = &comparison.balance {
        let name = format!("one balance, {} K", kelvin(balance.kelvin));
        diagram.mark(Mark::Balance, &name, balance.kelvin, balance.duv);
    }
    for (name, light) in &lights {
        diagram.light(&plain(name), light);
    }
    let said: Vec<_> = comparison
        .setups
        .iter()
        .filter_map(|setup| Some(format!("{} at {}", plain(&setup.name), setup_in_figures(setup)?)))
        .collect();
    let gels: Vec<_> = comparison.gels.iter().map(|gel| gel_in_words(gel).join(". ")).collect();
    let alternative = format!(
        "Chromaticity diagram, CIE 1976 u′v′, with the Planckian and the daylight locus. {}. {}{}",
        said.join("; "),
        if comparison.shifts.is_empty() { "" } else { "Arrows lead from one light to the other. " },
        plain(&gels.join(". "))
    );
    (!diagram.is_empty()).then(|| diagram.draw(alternative.trim_end()))
}

fn scale(comparison: &Comparison) -> Option<String> {
    let lights = lights(comparison);
    let mut scale = Scale::default();
    for (name, light) in &lights {
        let name = format!("{}, {} K", plain(name), kelvin(light.cct_kelvin));
        scale.light(&name, light.mired, light.mired_interval);
    }
    if let Some(balance) = &comparison.balance {
        scale.preset("one balance", 1e6 / balance.kelvin);
        if let Some(preset) = &balance.preset {
            scale.preset(&plain(&preset.name), 1e6 / preset.kelvin);
        }
    }
    let said: Vec<_> = lights
        .iter()
        .map(|(name, light)| {
            let [low, high] = light.mired_interval;
            format!("{} at {:.0} mired ({low:.0} to {high:.0})", plain(name), light.mired)
        })
        .collect();
    let alternative =
        format!("Mired scale, bluer to the left and more orange to the right: {}", said.join("; "));
    (!lights.is_empty()).then(|| scale.draw(&alternative))
}
