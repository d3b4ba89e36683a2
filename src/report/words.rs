//! Figures in words, no surer than the reading is.

pub(super) use crate::balance::kelvin_number as kelvin;
use crate::card::LightReading;

/// Lights by what they look like: from how many kelvin, and the name.
const KINDS: [(f64, &str); 7] = [
    (0.0, "candlelight"),
    (2200.0, "a tungsten lamp"),
    (3600.0, "a neutral-white lamp"),
    (4700.0, "daylight"),
    (6000.0, "an overcast sky"),
    (7000.0, "open shade"),
    (10_000.0, "a clear blue sky"),
];

/// So many of something, which has a plural of the usual kind.
pub(super) fn plural(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

/// What a light looks like, over the whole of its interval.
pub(super) fn light_in_words(light: &LightReading) -> String {
    let [low, high] = light.cct_interval_kelvin;
    let (warmest, coolest) = (kind(low), kind(high));
    let name = |index: usize| KINDS.get(index).map_or("", |(_, name)| name);
    let looks = match coolest.saturating_sub(warmest) {
        0 => format!("Like {}", name(warmest)),
        1 => format!("Like {} or {}", name(warmest), name(coolest)),
        _ => format!("Anything from {} to {}", name(warmest), name(coolest)),
    };
    match tint(light.duv) {
        Some(tint) => format!("{looks}, but {tint}"),
        None => looks,
    }
}

/// Kelvin and Duv with their intervals.
pub(super) fn light_in_figures(light: &LightReading) -> String {
    let [low, high] = light.cct_interval_kelvin.map(kelvin);
    let [duv_low, duv_high] = light.duv_interval.map(|duv| signed(duv, 4));
    format!(
        "{} K ({low} to {high}), Duv {} ({duv_low} to {duv_high})",
        kelvin(light.cct_kelvin),
        signed(light.duv, 4)
    )
}

fn kind(kelvin: f64) -> usize {
    KINDS.iter().rposition(|(from, _)| kelvin >= *from).unwrap_or(0)
}

/// Filaments lie at a Duv of 0 and daylight lies near +0.003; a light is tinted as far as it is
/// outside of these.
const UNTINTED_DUV: [f64; 2] = [0.0, 0.003];

/// A tint in words, in the steps that the words for a miss have.
fn tint(duv: f64) -> Option<String> {
    let [low, high] = UNTINTED_DUV;
    let (outside, colour) = if duv > high { (duv - high, "green") } else { (low - duv, "magenta") };
    let strength = match outside {
        d if d >= 0.015 => "strongly",
        d if d >= 0.006 => "clearly",
        d if d >= 0.003 => "a little",
        _ => return None,
    };
    Some(format!("{strength} {colour}"))
}

/// A signed figure; one that rounds to nothing has no sign.
pub(super) fn signed(value: f64, decimals: usize) -> String {
    let shown = format!("{value:+.decimals$}");
    if shown.trim_start_matches(['+', '-']).chars().all(|c| c == '0' || c == '.') {
        shown.trim_start_matches(['+', '-']).to_owned()
    } else {
        shown
    }
}

/// Begins with a capital and ends with a full stop.
pub(super) fn sentence(text: &str) -> String {
    let mut sentence = capitalised(text.trim());
    if !sentence.ends_with(['.', '!', '?']) {
        sentence.push('.');
    }
    sentence
}

pub(super) fn capitalised(text: &str) -> String {
    let mut characters = text.chars();
    let first = characters.next().map(char::to_uppercase).into_iter().flatten();
    first.chain(characters).collect()
}

pub(super) fn lower_first(text: &str) -> String {
    let mut characters = text.chars();
    let first = characters.next().map(char::to_lowercase).into_iter().flatten();
    first.chain(characters).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn light(low: f64, high: f64, duv: f64) -> LightReading {
        LightReading {
            cct_kelvin: (low + high) / 2.0,
            cct_interval_kelvin: [low, high],
            mired: 2e6 / (low + high),
            mired_interval: [1e6 / high, 1e6 / low],
            duv,
            duv_interval: [duv - 0.003, duv + 0.003],
        }
    }

    #[test]
    fn a_light_is_named_no_more_closely_than_it_is_known() {
        let words = |low, high, duv| light_in_words(&light(low, high, duv));
        assert_eq!(words(5200.0, 5800.0, 0.0031), "Like daylight");
        assert_eq!(words(5200.0, 6300.0, 0.0031), "Like daylight or an overcast sky");
        assert_eq!(words(3300.0, 5200.0, 0.0), "Anything from a tungsten lamp to daylight");
        assert_eq!(words(1500.0, 1900.0, 0.0), "Like candlelight");
        assert_eq!(words(11_000.0, 30_000.0, 0.003), "Like a clear blue sky");
    }

    #[test]
    fn tint_is_counted_from_what_lamps_and_daylight_have() {
        let words = |duv| light_in_words(&light(4000.0, 4200.0, duv));
        assert_eq!(words(0.0059), "Like a neutral-white lamp");
        assert_eq!(words(0.0061), "Like a neutral-white lamp, but a little green");
        assert_eq!(words(0.010), "Like a neutral-white lamp, but clearly green");
        assert_eq!(words(-0.02), "Like a neutral-white lamp, but strongly magenta");
    }

    #[test]
    fn figures_are_shown_as_people_write_them() {
        assert_eq!([signed(0.4, 0), signed(-0.4, 0), signed(1.6, 0)], ["0", "0", "+2"]);
        assert_eq!([signed(-0.00004, 4), signed(-0.0031, 4)], ["0.0000", "-0.0031"]);
        assert_eq!(sentence("no card found: nothing"), "No card found: nothing.");
        assert_eq!(sentence("It stops."), "It stops.");
        assert_eq!(sentence(""), ".");
    }
}
