//! The page of a bracket of balance settings.

use askama::Template;

use super::card::Picture;
use super::dial_chart;
use super::filters;
use super::page::{About, page, rendered};
use super::thumb::{FramePicture, Room};
use super::typeset::typeset;
use crate::balance::{appearance, looks};
use crate::report::bracket::{
    came_out, ended, how_sure, neutral_in_figures, neutral_in_words, nowhere_neutral,
};
use crate::report::plain;
use crate::report::words::{capitalised, light_in_figures, light_in_words, sentence, signed};
use crate::setups::{BracketPhoto, BracketReading};

/// The whole page of a bracket; `pictures` are of its photos, in their order.
#[must_use]
pub fn dial_page(
    bracket: &BracketReading,
    pictures: &[Option<FramePicture>],
    about: &About,
) -> String {
    let summary = match bracket.photos.len() {
        1 => "1 photo of one card in one light.".to_owned(),
        photos => format!("{photos} photos of one card in one light, at several settings."),
    };
    page("Balance dial", &summary, about, &dial_section(bracket, pictures), false)
}

/// The bracket alone, as a part of a page.
fn dial_section(bracket: &BracketReading, pictures: &[Option<FramePicture>]) -> String {
    let neutral = bracket.neutral_at.as_ref();
    let light = bracket.light.as_ref().map(|light| {
        let figures = light_in_figures(light);
        let words = light_in_words(light);
        typeset(&format!("{words}: {figures}, with what the camera's sensor leaves open."))
    });
    // A photo without a setting is among those left out.
    let problems = bracket.problems.iter().filter(|problem| problem.code != "setting-unknown");
    rendered(&Section {
        heading: typeset(
            &neutral.map_or_else(|| nowhere_neutral(bracket).to_owned(), neutral_in_words),
        ),
        is_found: neutral.is_some(),
        figures: neutral.map(|neutral| typeset(&neutral_in_figures(neutral))),
        how_sure: neutral.map(how_sure),
        light,
        chart: chart(bracket),
        photos: bracket
            .photos
            .iter()
            .enumerate()
            .map(|(index, photo)| {
                PhotoView::of(photo, pictures.get(index).and_then(Option::as_ref))
            })
            .collect(),
        notes: problems.map(|problem| typeset(&ended(&problem.message))).collect(),
        advice: bracket.advice.iter().map(|text| typeset(text)).collect(),
    })
}

#[derive(Template)]
#[template(path = "dial.html")]
struct Section {
    heading: String,
    is_found: bool,
    figures: Option<String>,
    how_sure: Option<&'static str>,
    light: Option<String>,
    chart: Option<String>,
    photos: Vec<PhotoView>,
    notes: Vec<String>,
    advice: Vec<String>,
}

struct PhotoView {
    name: String,
    setting: String,
    looks: String,
    figures: String,
    left_out: Option<String>,
    picture: Option<Picture>,
}

impl PhotoView {
    fn of(photo: &BracketPhoto, picture: Option<&FramePicture>) -> Self {
        let name = plain(&photo.path).into_owned();
        let setting = photo.setting_kelvin.map(|kelvin| format!("{kelvin:.0} K"));
        let off = came_out(photo).filter(|_| photo.left_out.is_none());
        let looks = off.map_or_else(String::new, |(mired, duv)| looks(&appearance(mired, duv)));
        let thumb = picture.and_then(|picture| picture.pair(None, Room::for_frames(0)));
        let at = setting.clone().unwrap_or_else(|| "an unknown setting".to_owned());
        Self {
            picture: thumb.map(|pair| {
                let words = format!("{name} at {at}: the card came out {looks}");
                let words =
                    if looks.is_empty() { format!("{name} at {at}, left out") } else { words };
                Picture::of(&pair.as_shot, words)
            }),
            setting: setting.map_or_else(|| "Setting unknown".to_owned(), |text| typeset(&text)),
            looks: capitalised(&looks),
            figures: off.map_or_else(String::new, |(mired, duv)| {
                typeset(&format!("{} mired, Duv {}", signed(mired, 0), signed(duv, 4)))
            }),
            left_out: photo.left_out.as_ref().map(|out| typeset(&sentence(&out.message))),
            name,
        }
    }
}

fn chart(bracket: &BracketReading) -> Option<String> {
    let counted = bracket.photos.iter().filter(|photo| photo.left_out.is_none());
    let points: Vec<[f64; 2]> = counted
        .filter_map(|photo| Some([1e6 / photo.setting_kelvin?, came_out(photo)?.0]))
        .collect();
    let neutral = bracket.neutral_at.as_ref();
    if points.is_empty() {
        return None;
    }
    let said: Vec<_> = points
        .iter()
        .map(|[setting, off]| format!("{} mired at {:.0} K", signed(*off, 0), 1e6 / setting))
        .collect();
    let alternative = format!(
        "How the card came out at each setting: {}. {}.",
        said.join(", "),
        neutral.map_or_else(|| nowhere_neutral(bracket).to_owned(), neutral_in_words)
    );
    Some(dial_chart::draw(&points, neutral, &alternative))
}
