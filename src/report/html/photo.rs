//! The photo of a card with what was found drawn on it.

use super::svg::{Anchor, Svg};
use super::thumb::CardPictures;
use crate::card::{CardRecord, ProblemRecord};

const WIDTH: f64 = 420.0;
const MARGIN: f64 = 8.0;
/// A tall photo is drawn no taller than this.
const TALLEST: f64 = 420.0;

/// Problems of the picture itself, which are numbered on it; where no card was found, those that have a place.
pub(super) fn is_in_the_picture(problem: &ProblemRecord, card: &CardRecord) -> bool {
    let is_somewhere = !problem.places.is_empty() || !card.area.is_empty();
    is_somewhere && is_of_the_picture(&problem.code)
}

fn is_of_the_picture(code: &str) -> bool {
    matches!(
        code,
        "not-found"
            | "clipped"
            | "dark"
            | "dim"
            | "partly-clipped"
            | "mixed-light"
            | "drift"
            | "small"
            | "area-beyond"
            | "uneven"
            | "banding"
            | "glare"
            | "marked"
            | "no-colour"
    )
}

/// The photo with the card's outline and each numbered problem where it is.
pub(super) fn draw(pictures: &CardPictures, card: &CardRecord, alternative: &str) -> String {
    let [width, height] = pictures.size.map(|side| f64::from(side.max(1)));
    let scale = ((WIDTH - 2.0 * MARGIN) / width).min((TALLEST - 2.0 * MARGIN) / height);
    let [across, down] = [width * scale, height * scale];
    let size = [across + 2.0 * MARGIN, down + 2.0 * MARGIN];
    let at = |[x, y]: [f64; 2]| [MARGIN + x * scale, MARGIN + y * scale];

    let mut svg = Svg::default();
    svg.rect("mat", [0.0, 0.0], size);
    let mut photo = Svg::default();
    photo.image(&pictures.came_out.uri(), [0.0, 0.0], pictures.covers.map(|side| side * scale));
    svg.nested([MARGIN, MARGIN], [across, down], &photo);

    let outline: Vec<_> = card.area.iter().map(|corner| at(*corner)).collect();
    if !outline.is_empty() {
        svg.polygon("outline under", &outline);
        svg.polygon("outline", &outline);
    }
    let mut numbered = Vec::new();
    let in_picture = card.problems.iter().filter(|problem| is_in_the_picture(problem, card));
    for (number, problem) in (1..).zip(in_picture) {
        for [x, y, w, h] in &problem.places {
            let (corner, size) = (at([*x, *y]), [w * scale, h * scale]);
            for class in ["place under", "place"] {
                svg.rect(class, corner, size);
            }
            // At its corner, so as not to hide what is marked.
            numbered.push((number, [corner[0] - 4.0, corner[1] - 4.0]));
        }
        if problem.places.is_empty() {
            // Of the card as a whole.
            let corner = outline.first().copied().unwrap_or(at([0.0, 0.0]));
            let aside = 24.0 * f64::from(number - 1);
            numbered.push((number, [corner[0] + 14.0 + aside, corner[1] + 14.0]));
        }
    }
    for (number, [x, y]) in numbered {
        let [x, y] = [within(x, size[0]), within(y, size[1])];
        svg.circle("tag", [x, y], 9.0);
        svg.text("tag-number", [x, y + 4.5], Anchor::Middle, &format!("{number}"));
    }
    svg.picture("photo", size, alternative)
}

/// A place for a tag on a drawing of this size: as far from its edges as a tag is large, or in the middle
/// where it is narrower than that.
fn within(place: f64, size: f64) -> f64 {
    let room = f64::min(12.0, size / 2.0);
    place.clamp(room, size - room)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tags_keep_off_the_edges_as_far_as_there_is_room() {
        assert_eq!([2.0, 50.0, 99.0].map(|x| within(x, 100.0)), [12.0, 50.0, 88.0]);
        assert_eq!([2.0, 30.0].map(|x| within(x, 17.4)), [8.7, 8.7]);
    }
}
