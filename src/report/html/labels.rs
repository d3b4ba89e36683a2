//! Labels on a diagram.

use super::svg::{Anchor, CHARACTER, Svg};

/// Labels that keep clear of each other.
#[derive(Debug, Clone)]
pub(super) struct Labels {
    /// Width and height of the plot that they lie in.
    plot: [f64; 2],
    /// Left, top, right, bottom.
    taken: Vec<[f64; 4]>,
    /// The same of what a label should not lie on, if there is room elsewhere.
    avoided: Vec<[f64; 4]>,
}

/// Height of a line of them.
const LINE: f64 = 14.0;

impl Labels {
    pub(super) fn within(plot: [f64; 2]) -> Self {
        Self { plot, taken: Vec::new(), avoided: Vec::new() }
    }

    /// Leaves room round a dot.
    pub(super) fn keep_clear(&mut self, [x, y]: [f64; 2]) {
        self.taken.push([x - 6.0, y - 6.0, x + 6.0, y + 6.0]);
    }

    /// Keeps labels off a place on a line, as far as there is room.
    pub(super) fn avoid(&mut self, [x, y]: [f64; 2]) {
        self.avoided.push([x - 6.0, y - 6.0, x + 6.0, y + 6.0]);
    }

    fn is_free(&self, wanted: [f64; 4]) -> bool {
        self.taken.iter().all(|other| apart(wanted, *other))
    }

    fn is_clear(&self, wanted: [f64; 4]) -> bool {
        self.avoided.iter().all(|other| apart(wanted, *other))
    }

    /// A label that is left out where there is no room.
    pub(super) fn centred(&mut self, plot: &mut Svg, class: &str, [x, y]: [f64; 2], text: &str) {
        let half = width(text) / 2.0;
        let wanted = [x - half, y - LINE + 3.0, x + half, y + 3.0];
        if self.is_free(wanted) {
            self.taken.push(wanted);
            plot.text(class, [x, y], Anchor::Middle, text);
        }
    }

    /// A label to the right of a dot or to its left, moved up or down with a line to the dot where
    /// others are in the way.
    pub(super) fn beside(&mut self, plot: &mut Svg, class: &str, [x, y]: [f64; 2], text: &str) {
        let text = shortened(text);
        let length = width(&text);
        let rows = [0.0, 1.0, -1.0, 2.0, -2.0, 3.0, -3.0, 4.0, 5.0, 6.0, -4.0];
        let boxes = rows.into_iter().flat_map(|row| {
            let y = y + row * LINE;
            let reach = 10.0 + 3.0 * f64::abs(row);
            [(x + reach, y, Anchor::Start), (x - reach, y, Anchor::End)]
        });
        let wanted = |&(x, y, anchor): &(f64, f64, Anchor)| {
            let left = if anchor == Anchor::End { x - length } else { x };
            [left, y - LINE / 2.0, left + length, y + LINE / 2.0]
        };
        let fits = |place: &&(f64, f64, Anchor)| {
            let [left, top, right, bottom] = wanted(place);
            left >= 2.0
                && right <= self.plot[0] - 2.0
                && top >= 0.0
                && bottom <= self.plot[1]
                && self.is_free([left, top, right, bottom])
        };
        let boxes: Vec<_> = boxes.collect();
        let clear = boxes.iter().filter(fits).find(|place| self.is_clear(wanted(place)));
        let place = clear.or_else(|| boxes.iter().find(fits)).or(boxes.first());
        let Some(&place) = place else { return };
        let (tx, ty, anchor) = place;
        self.taken.push(wanted(&place));
        if (ty - y).abs() > 1.0 {
            let end = if anchor == Anchor::End { tx + 2.0 } else { tx - 2.0 };
            plot.line("leader", [x, y], [end, ty]);
        }
        plot.text(class, [tx, ty + 4.0], anchor, &text);
    }
}

/// Whether two boxes do not meet.
fn apart(one: [f64; 4], other: [f64; 4]) -> bool {
    one[2] < other[0] || one[0] > other[2] || one[3] < other[1] || one[1] > other[3]
}

fn width(text: &str) -> f64 {
    text.chars().count() as f64 * CHARACTER
}

/// Names of set-ups may be long; the end of a file's name tells it from others.
fn shortened(text: &str) -> String {
    const MOST: usize = 24;
    let length = text.chars().count();
    if length <= MOST {
        return text.to_owned();
    }
    let end: String = text.chars().skip(length - MOST + 1).collect();
    format!("…{end}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_label_keeps_off_lines_where_there_is_room_and_within_the_plot_where_there_is_none() {
        let drawn = |avoided: &[[f64; 2]]| {
            let (mut labels, mut plot) = (Labels::within([200.0, 100.0]), Svg::default());
            avoided.iter().for_each(|place| labels.avoid(*place));
            labels.beside(&mut plot, "label", [150.0, 50.0], "some name");
            labels.taken
        };
        let plain = drawn(&[]);
        assert_ne!(drawn(&[[120.0, 50.0]]), plain, "it moves");
        let everywhere: Vec<_> =
            (0..200).flat_map(|x| (0..20).map(move |y| [f64::from(x), f64::from(5 * y)])).collect();
        assert_eq!(drawn(&everywhere), plain, "and stays where moving helps nothing");
        assert!(
            plain.iter().all(|[left, _, right, _]| *left >= 2.0 && *right <= 198.0),
            "{plain:?}"
        );
    }
}
