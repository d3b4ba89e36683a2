//! The weights as the library's source.

use std::fmt::Write;

use mirecast::frames::cast_training::{KNOTS, VIEWS, Weights};

/// The text of the module that holds these weights.
#[must_use]
pub fn source(weights: &Weights) -> String {
    let mut text = String::from(
        "//! What training found. Written by `lab train-casts … --write`; do not edit.\n\n\
         use super::terms::Weights;\n\n\
         /// A template a view: a line a step of warmth from blue to orange, in it from magenta to green. Rounded to\n\
         /// two digits after the point.\n\
         #[rustfmt::skip]\n\
         #[allow(clippy::approx_constant, reason = \"a weight may come near a constant by chance\")]\n\
         pub(super) const BUILT_IN: Weights = Weights {\n    templates: [\n",
    );
    for (name, template) in VIEWS.iter().zip(&weights.templates) {
        let _ = writeln!(text, "        // {name}\n        [");
        for line in template.chunks(KNOTS.1) {
            let _ = writeln!(text, "            {},", list(line, 2));
        }
        text.push_str("        ],\n");
    }
    let _ = writeln!(
        text,
        "    ],\n    prior: [{}],\n    temperature: {:.3},\n}};",
        list(&weights.prior, 3),
        weights.temperature
    );
    text
}

fn list(values: &[f32], digits: usize) -> String {
    let unit = 10_f32.powi(digits as i32);
    // Adding 0 takes the sign from a rounded −0.
    let shown = |value: &f32| format!("{:>6.digits$}", (value * unit).round() / unit + 0.0);
    values.iter().map(shown).collect::<Vec<_>>().join(", ")
}
