//! The mired scale on which misses are drawn.

/// Mired a column may stand for.
const STEPS: [f64; 12] = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0];

/// Farther than this from 0 is off the scale: a preset that misses by so much is out of the
/// question, and near ones must be told apart.
const REACH: f64 = 220.0;

/// A linear mired scale of so many columns, the same for all presets of a photo.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scale {
    /// Mired a column.
    step: f64,
    /// The column of 0.
    zero: usize,
    columns: usize,
}

/// A miss and its interval, mired.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Span {
    pub(super) low: f64,
    pub(super) miss: f64,
    pub(super) high: f64,
}

impl Scale {
    /// The finest scale of at most `most` columns that holds 0 and every span, as far as
    /// [`REACH`].
    pub(super) fn fitting(spans: &[Span], most: usize) -> Self {
        // Every span takes a column on each side of its miss at least.
        let sides = |step: f64| {
            // So that a miss within reach keeps an end on either side, if only as an arrow.
            let beyond = |miss: f64, end: f64| match miss <= REACH {
                true => end.min(REACH).max(miss + step),
                false => REACH,
            };
            let lows = spans.iter().map(|span| -beyond(-span.miss, -span.low));
            let highs = spans.iter().map(|span| beyond(span.miss, span.high));
            let (low, high) = (lows.fold(0.0, f64::min), highs.fold(0.0, f64::max));
            ((-low / step).ceil() as usize, (high / step).ceil() as usize)
        };
        let fits = |step: &f64| {
            let (left, right) = sides(*step);
            left + right < most
        };
        let last = 2.0 * REACH / (most.max(3) as f64 - 2.0);
        let step = STEPS.into_iter().find(fits).unwrap_or(last);
        let (left, right) = sides(step);
        Self { step, zero: left, columns: left + right + 1 }
    }

    /// One preset's line: 0 as `|`, the miss as `o`, its interval in brackets; `<` and `>` where
    /// they lie beyond the ends.
    pub(super) fn line(&self, span: Span) -> String {
        let mut line = vec![' '; self.columns];
        let zero = self.zero as isize;
        let at = |columns: f64| (columns as isize).saturating_add(zero);
        let miss = at((span.miss / self.step).round());
        // Never narrower than the interval is, and never so narrow that it does not show.
        let low = at((span.low / self.step).floor()).min(miss.saturating_sub(1));
        let high = at((span.high / self.step).ceil()).max(miss.saturating_add(1));
        for column in low.max(0)..=high.min(self.columns as isize) {
            self.put(&mut line, column, '-');
        }
        self.put(&mut line, low, '[');
        self.put(&mut line, high, ']');
        // 0 shows through an interval, but not through its ends: they say which side it is on.
        if let Some(cell) = line.get_mut(self.zero).filter(|cell| matches!(cell, ' ' | '-')) {
            *cell = '|';
        }
        self.put(&mut line, miss, 'o');
        self.mark_ends(&mut line, low, high);
        line.into_iter().collect()
    }

    fn put(&self, line: &mut [char], column: isize, mark: char) {
        if let Some(cell) = usize::try_from(column).ok().and_then(|column| line.get_mut(column)) {
            *cell = mark;
        }
    }

    fn mark_ends(&self, line: &mut [char], low: isize, high: isize) {
        if low < 0 {
            self.put(line, 0, '<');
        }
        if high >= self.columns as isize {
            self.put(line, self.columns as isize - 1, '>');
        }
    }

    /// What stands above the scale: 0 over its place, and which way is which where there is room.
    pub(super) fn heading(&self) -> String {
        let (left, right) = (self.zero, self.columns - self.zero - 1);
        let bluer = ["bluer", ""].into_iter().find(|word| word.len() < left.max(1)).unwrap_or("");
        let oranger = ["oranger", ""].into_iter().find(|word| word.len() < right.max(1));
        let oranger = oranger.unwrap_or("");
        format!("{bluer:<left$}0{oranger:>right$}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn span(low: f64, miss: f64, high: f64) -> Span {
        Span { low, miss, high }
    }

    #[test]
    fn the_scale_is_linear_and_holds_every_span() {
        let spans = [span(-6.0, 2.0, 10.0), span(-70.0, -60.0, -50.0), span(60.0, 90.0, 120.0)];
        let scale = Scale::fitting(&spans, 31);
        assert_eq!(scale, Scale { step: 8.0, zero: 9, columns: 25 });
        assert_eq!(scale.line(spans[0]), "        [o-]             ");
        assert_eq!(scale.line(spans[1]), "[o-]     |               ");
        assert_eq!(scale.line(spans[2]), "         |      [---o---]");
        assert_eq!(scale.heading(), "bluer    0        oranger");
    }

    #[test]
    fn zero_shows_through_an_interval() {
        let wide = span(-30.0, 15.0, 60.0);
        assert_eq!(
            Scale::fitting(&[wide], 31).line(wide).trim(),
            "[---------|----o--------------]"
        );
    }

    #[test]
    fn what_is_off_the_scale_is_pointed_to() {
        let far = span(300.0, 340.0, 380.0);
        let near = span(-4.0, 0.0, 4.0);
        let scale = Scale::fitting(&[near, far], 21);
        assert!(scale.columns <= 21);
        assert!(scale.line(far).ends_with('>') && !scale.line(far).contains('o'));
        let reaching = span(100.0, 150.0, 500.0);
        assert!(scale.line(reaching).contains('o') && scale.line(reaching).ends_with("->"));
        let blue = Scale::fitting(&[span(-900.0, -800.0, -700.0)], 21);
        assert!(blue.line(span(-900.0, -800.0, -700.0)).starts_with('<'));
    }

    #[test]
    fn a_miss_at_the_end_of_reach_keeps_its_ends() {
        for (low, miss, high) in
            [(180.0, 215.0, 240.0), (160.0, 200.0, 219.0), (218.0, 219.0, 220.0)]
        {
            let scale = Scale::fitting(&[span(low, miss, high)], 31);
            let line = scale.line(span(low, miss, high));
            assert!(line.contains('o') && line.trim_end().ends_with(['>', ']']), "{line}");
            let blue = span(-high, -miss, -low);
            let line = Scale::fitting(&[blue], 31).line(blue);
            assert!(line.contains('o') && line.trim_start().starts_with(['<', '[']), "{line}");
        }
        // Beyond it the arrow stands, even in the column that the miss would round to.
        let spans = [span(40.0, 51.0, 62.0), span(205.0, 230.0, 255.0)];
        let line = Scale::fitting(&spans, 24).line(spans[1]);
        assert!(line.ends_with('>') && !line.contains('o'), "{line}");
    }

    #[test]
    fn any_spans_at_all_fit_the_columns() {
        for (low, high) in [(0.0, 0.0), (-1e9, 1e9), (f64::NAN, f64::NAN), (-219.9, 219.9)] {
            for most in [1, 2, 5, 11, 31] {
                let spans = [span(low, (low + high) / 2.0, high)];
                let scale = Scale::fitting(&spans, most);
                assert!(scale.columns <= most.max(3), "{low} to {high} in {most}");
                assert_eq!(scale.line(spans[0]).chars().count(), scale.columns);
                assert_eq!(scale.heading().len(), scale.columns);
            }
        }
    }
}
