//! The steps of a scale of mired to either side of 0.

/// The class of each step's line, its place, and its figure; as far as `most`, from below.
pub(super) fn ticks(most: f64, every: f64) -> impl Iterator<Item = (&'static str, f64, String)> {
    let count = (most / every).floor() as i32;
    (-count..=count).map(move |tick| {
        let mired = f64::from(tick) * every;
        let (class, sign) = match tick {
            0 => ("zero", ""),
            tick if tick > 0 => ("grid", "+"),
            _ => ("grid", "−"),
        };
        (class, mired, format!("{sign}{:.0}", mired.abs()))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_go_as_far_as_there_is_room_and_have_their_sign() {
        let all: Vec<_> = ticks(45.0, 20.0).map(|(_, mired, text)| (mired, text)).collect();
        let wanted = [(-40.0, "−40"), (-20.0, "−20"), (0.0, "0"), (20.0, "+20"), (40.0, "+40")];
        assert_eq!(all, wanted.map(|(mired, text)| (mired, text.to_owned())));
        assert_eq!(ticks(5.0, 20.0).count(), 1);
    }
}
