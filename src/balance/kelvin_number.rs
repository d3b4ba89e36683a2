//! Kelvin numbers as sentences have them: everywhere the same number for the same light.

/// To the ten, without the unit: a card tells no more, and no dial takes more.
pub(crate) fn kelvin_number(kelvin: f64) -> String {
    // By way of the tenth that records have, so that a figure is the same before and after it is recorded.
    format!("{:.0}", ((kelvin * 10.0).round() / 100.0).round() * 10.0)
}

/// To the hundred, without the unit: where only about that much is known, or matters.
pub(crate) fn rough_kelvin_number(kelvin: f64) -> String {
    format!("{:.0}", (kelvin / 100.0).round() * 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_no_closer_than_they_are_meant() {
        assert_eq!(kelvin_number(5463.0), "5460");
        assert_eq!([3124.96, 3125.0].map(kelvin_number), ["3130", "3130"]);
        assert_eq!(rough_kelvin_number(5463.0), "5500");
    }
}
