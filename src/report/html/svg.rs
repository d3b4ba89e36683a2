//! A drawing as SVG text. Every text and every attribute is escaped here and nowhere else.

use std::fmt::{self, Write};

/// Room that a character takes, at the largest size that the style sheet gives labels.
pub(super) const CHARACTER: f64 = 7.0;

/// Shapes, one after the other.
#[derive(Debug, Clone, Default)]
pub(super) struct Svg {
    body: String,
}

/// Where a text stands from its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

impl Anchor {
    fn name(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::Middle => "middle",
            Self::End => "end",
        }
    }
}

impl Svg {
    pub(super) fn line(&mut self, class: &str, [x1, y1]: [f64; 2], [x2, y2]: [f64; 2]) {
        self.push(format_args!(
            r#"<line class="{class}" x1="{}" y1="{}" x2="{}" y2="{}"/>"#,
            Number(x1),
            Number(y1),
            Number(x2),
            Number(y2)
        ));
    }

    pub(super) fn polyline(&mut self, class: &str, points: &[[f64; 2]]) {
        self.push(format_args!(r#"<polyline class="{class}" points="{}"/>"#, Points(points)));
    }

    /// With a colour of its own rather than its class's.
    pub(super) fn coloured_line(&mut self, class: &str, colour: Hex, points: &[[f64; 2]]) {
        self.push(format_args!(
            r#"<polyline class="{class}" stroke="{colour}" points="{}"/>"#,
            Points(points)
        ));
    }

    pub(super) fn polygon(&mut self, class: &str, points: &[[f64; 2]]) {
        self.push(format_args!(r#"<polygon class="{class}" points="{}"/>"#, Points(points)));
    }

    pub(super) fn rect(&mut self, class: &str, [x, y]: [f64; 2], [width, height]: [f64; 2]) {
        self.push(format_args!(
            r#"<rect class="{class}" x="{}" y="{}" width="{}" height="{}"/>"#,
            Number(x),
            Number(y),
            Number(width.max(0.0)),
            Number(height.max(0.0))
        ));
    }

    pub(super) fn coloured_rect(&mut self, colour: Hex, [x, y]: [f64; 2], [w, h]: [f64; 2]) {
        self.push(format_args!(
            r#"<rect fill="{colour}" x="{}" y="{}" width="{}" height="{}"/>"#,
            Number(x),
            Number(y),
            Number(w.max(0.0)),
            Number(h.max(0.0))
        ));
    }

    pub(super) fn circle(&mut self, class: &str, [x, y]: [f64; 2], radius: f64) {
        self.push(format_args!(
            r#"<circle class="{class}" cx="{}" cy="{}" r="{}"/>"#,
            Number(x),
            Number(y),
            Number(radius)
        ));
    }

    pub(super) fn text(&mut self, class: &str, [x, y]: [f64; 2], anchor: Anchor, text: &str) {
        self.push(format_args!(
            r#"<text class="{class}" x="{}" y="{}" text-anchor="{}">{}</text>"#,
            Number(x),
            Number(y),
            anchor.name(),
            Escaped(text)
        ));
    }

    /// A picture from a data URI, stretched to its place.
    pub(super) fn image(&mut self, uri: &str, [x, y]: [f64; 2], [width, height]: [f64; 2]) {
        self.push(format_args!(
            r#"<image href="{}" x="{}" y="{}" width="{}" height="{}" preserveAspectRatio="none"/>"#,
            Escaped(uri),
            Number(x),
            Number(y),
            Number(width),
            Number(height)
        ));
    }

    /// Another drawing within these bounds; what reaches beyond them is cut off.
    pub(super) fn nested(&mut self, [x, y]: [f64; 2], [width, height]: [f64; 2], inner: &Self) {
        self.push(format_args!(
            r#"<svg x="{}" y="{}" width="{}" height="{}">{}</svg>"#,
            Number(x),
            Number(y),
            Number(width),
            Number(height),
            inner.body
        ));
    }

    /// The whole drawing as a picture that says in words what it shows.
    pub(super) fn picture(
        &self,
        class: &str,
        [width, height]: [f64; 2],
        alternative: &str,
    ) -> String {
        format!(
            r#"<svg class="{class}" viewBox="0 0 {} {}" role="img" aria-label="{}">{}</svg>"#,
            Number(width),
            Number(height),
            Escaped(alternative),
            self.body
        )
    }

    /// The whole drawing as an ornament beside words that say the same.
    pub(super) fn ornament(&self, class: &str, [width, height]: [f64; 2]) -> String {
        format!(
            r#"<svg class="{class}" viewBox="0 0 {} {}" aria-hidden="true">{}</svg>"#,
            Number(width),
            Number(height),
            self.body
        )
    }

    fn push(&mut self, shape: fmt::Arguments<'_>) {
        // Writing to a string does not fail.
        let _ = self.body.write_fmt(shape);
    }
}

/// A colour in eight bits, as SVG and CSS write it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Hex(pub(super) [u8; 3]);

impl fmt::Display for Hex {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [red, green, blue] = self.0;
        write!(f, "#{red:02x}{green:02x}{blue:02x}")
    }
}

/// A coordinate: two decimals at the most; what is no number stands at 0.
struct Number(f64);

impl fmt::Display for Number {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let value = if self.0.is_finite() { self.0.clamp(-1e5, 1e5) } else { 0.0 };
        // Adding zero makes −0 a plain 0.
        write!(f, "{}", (value * 100.0).round() / 100.0 + 0.0)
    }
}

struct Points<'a>(&'a [[f64; 2]]);

impl fmt::Display for Points<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, [x, y]) in self.0.iter().enumerate() {
            let gap = if index == 0 { "" } else { " " };
            write!(f, "{gap}{},{}", Number(*x), Number(*y))?;
        }
        Ok(())
    }
}

struct Escaped<'a>(&'a str);

impl fmt::Display for Escaped<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for character in self.0.chars() {
            match character {
                '<' => f.write_str("&lt;")?,
                '>' => f.write_str("&gt;")?,
                '&' => f.write_str("&amp;")?,
                '"' => f.write_str("&quot;")?,
                '\'' => f.write_str("&#39;")?,
                other => f.write_char(other)?,
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_and_numbers_cannot_break_out() {
        let mut svg = Svg::default();
        svg.text("a", [f64::NAN, -0.0], Anchor::End, "</text><script>&\"'");
        svg.circle("b", [1.0 / 3.0, 1e300], 2.0);
        let drawn = svg.picture("c", [10.0, 20.5], "\"><b>");
        assert_eq!(
            drawn,
            "<svg class=\"c\" viewBox=\"0 0 10 20.5\" role=\"img\" \
             aria-label=\"&quot;&gt;&lt;b&gt;\"><text class=\"a\" x=\"0\" y=\"0\" \
             text-anchor=\"end\">&lt;/text&gt;&lt;script&gt;&amp;&quot;&#39;</text>\
             <circle class=\"b\" cx=\"0.33\" cy=\"100000\" r=\"2\"/></svg>"
        );
    }
}
