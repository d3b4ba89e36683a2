//! Mains banding: lamps on the mains flicker at twice its frequency, and a rolling shutter lays
//! the flicker over the picture as bands. Averaged over whole bands the colour is the lamp's.

use super::cell_box::CellBox;
use super::one_change::least_left_by_one_change;
use super::profile::{Axis, Trend, detrended, dot, left_of, profile, values};
use super::sample::Samples;

/// Bands across a card.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Banding {
    /// Height of one band, in cells.
    pub(crate) period: f64,
    /// How many of them there are on the card.
    pub(crate) number: f64,
    /// Half the swing from dark to bright, as a natural logarithm: 0.1 is about ±10 %.
    pub(crate) amplitude: f64,
    /// Whether the bands lie across columns (an upright picture) or rows (a turned one).
    pub(crate) axis: Axis,
}

/// Fainter bands than this do not show and do not matter.
const LEAST_AMPLITUDE: f64 = 0.012;
/// How much of the variation along the axis one sinusoid must explain.
const LEAST_EXPLAINED: f64 = 0.6;
/// What bands leave unexplained, at most, of what one change does: they have more to fit with.
const CLEARLY: f64 = 0.8;
/// How much of the whole card's wave each third across it must show at the same place.
const LEAST_ALIKE: f64 = 0.7;
/// Fewer bands than this cannot be told from shading.
const LEAST_BANDS: f64 = 1.7;

impl Banding {
    /// The bands across the samples, if there are any.
    pub(crate) fn of(samples: &Samples) -> Option<Self> {
        [Axis::Down, Axis::Across]
            .into_iter()
            .filter_map(|axis| Self::along(samples, axis))
            .max_by(|a, b| a.amplitude.total_cmp(&b.amplitude))
    }

    fn along(samples: &Samples, axis: Axis) -> Option<Self> {
        let profile = profile(samples.cells.iter(), axis);
        let length = profile.last()?.0 - profile.first()?.0 + 1.0;
        if profile.len() < 12 {
            return None;
        }
        // Trend first, so that falloff across the card does not pass for a slow band.
        let flat = detrended(&profile);
        let variance: f64 = flat.iter().map(|(_, v)| v * v).sum::<f64>() / flat.len() as f64;
        let most = length / 5.0;
        let steps = ((most - LEAST_BANDS) * 10.0).max(0.0) as usize;
        let (bands, power) = (0..=steps)
            .map(|i| LEAST_BANDS + i as f64 * 0.1)
            .map(|bands| (bands, power_at(&flat, bands / length)))
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        let amplitude = (2.0 * power).sqrt();
        let found = Self { period: length / bands, number: bands, amplitude, axis };
        (power > LEAST_EXPLAINED * variance
            && amplitude > LEAST_AMPLITUDE
            && found.repeats(&profile)
            && found.lies_along_lines(samples, &flat))
        .then_some(found)
    }

    /// Whether something that comes again and again describes the profile better than one change
    /// does. An edge between two lights, less the cubic that fits it best, is nearly two waves.
    fn repeats(&self, profile: &[(f64, f64)]) -> bool {
        let trend = Trend::on(profile);
        let flat = trend.taken_from(values(profile));
        let left_by_bands = (-10..=10).map(|i| {
            let turn = std::f64::consts::TAU / self.period * (1.0 + 0.02 * f64::from(i));
            // The harmonic, since the logarithm of a deep swing is no sinusoid.
            let waves = [1.0, 2.0].into_iter().flat_map(|times| {
                let wave = move |of: fn(f64) -> f64| {
                    profile.iter().map(|(x, _)| of(times * turn * x)).collect()
                };
                [trend.taken_from(wave(f64::cos)), trend.taken_from(wave(f64::sin))]
            });
            left_of(&flat, waves)
        });
        let least = left_by_bands.fold(f64::INFINITY, f64::min);
        least < CLEARLY * least_left_by_one_change(profile, &trend)
    }

    /// Whether the bands lie along the sensor's rows, as a shutter that runs over them lays them:
    /// the same wave at the same place on either side of the card and in its middle. `whole` is the
    /// card's profile without its trend.
    fn lies_along_lines(&self, samples: &Samples, whole: &[(f64, f64)]) -> bool {
        const PARTS: usize = 3;
        let across = if self.axis == Axis::Down { Axis::Across } else { Axis::Down };
        let places = samples.cells.iter().map(|sample| across.line(sample));
        let (Some(first), Some(last)) = (places.clone().min(), places.max()) else { return false };
        let wave = sinusoid(whole, 1.0 / self.period);
        (0..PARTS).all(|part| {
            let is_in = |line: usize| (line - first) * PARTS / (last - first + 1) == part;
            let cells = samples.cells.iter().filter(|sample| is_in(across.line(sample)));
            let flat = detrended(&profile(cells, self.axis));
            let Some(from) = flat.first().map(|(x, _)| *x) else { return true };
            let end = flat.last().map_or(from, |(x, _)| *x);
            // Less than a wave of a slanting card's corner says nothing.
            if end - from < self.period {
                return true;
            }
            let here = sinusoid(&flat, 1.0 / self.period);
            let all: Vec<f64> = wave
                .iter()
                .zip(whole)
                .filter(|(_, (x, _))| flat.iter().any(|(other, _)| other == x))
                .map(|(v, _)| *v)
                .collect();
            all.len() != here.len() || dot(&here, &all) > LEAST_ALIKE * dot(&all, &all)
        })
    }

    /// Weights the samples so that every phase of the bands counts alike: whole bands only, every
    /// line as much as any other, and the card's own shading along them taken out, for it would
    /// favour some phases.
    pub(crate) fn even_out(&self, samples: &mut Samples) {
        let shading = self.shading(samples);
        let place = |column: usize, row: usize| if self.axis == Axis::Down { row } else { column };
        let lines = samples.cells.iter().map(|s| place(s.column, s.row));
        let (Some(first), Some(last)) = (lines.clone().min(), lines.max()) else { return };
        let whole_bands = ((last - first + 1) as f64 / self.period).floor();
        let end = first as f64 + whole_bands * self.period;
        let mut counts = vec![0_u32; last + 1];
        for sample in &samples.cells {
            counts[place(sample.column, sample.row)] += 1;
        }
        for sample in &mut samples.cells {
            let line = place(sample.column, sample.row);
            // The last line of the last whole band may count in part.
            let share = (end - line as f64).clamp(0.0, 1.0);
            let shade = shading.get(line).copied().unwrap_or_default().exp();
            sample.weight = share / (f64::from(counts[line].max(1)) * shade);
        }
    }

    /// Where the dark bands lie, as wide as the samples.
    pub(crate) fn dark_bands(&self, samples: &Samples) -> Vec<CellBox> {
        let cell = |sample: &super::sample::Sample| CellBox {
            left: sample.column,
            top: sample.row,
            right: sample.column + 1,
            bottom: sample.row + 1,
        };
        let Some(all) = samples.cells.iter().map(cell).reduce(CellBox::with) else {
            return Vec::new();
        };
        let profile = profile(samples.cells.iter(), self.axis);
        let bands = sinusoid(&detrended(&profile), 1.0 / self.period);
        let mut dark: Vec<[usize; 2]> = Vec::new();
        for ((line, _), _) in profile.iter().zip(bands).filter(|(_, level)| *level < 0.0) {
            let line = *line as usize;
            match dark.last_mut().filter(|[_, end]| *end == line) {
                Some([_, end]) => *end = line + 1,
                None => dark.push([line, line + 1]),
            }
        }
        let band = |[from, to]: [usize; 2]| match self.axis {
            Axis::Down => CellBox { top: from, bottom: to, ..all },
            Axis::Across => CellBox { left: from, right: to, ..all },
        };
        dark.into_iter().map(band).collect()
    }

    /// The logarithm of brightness along the axis without the bands, line by line.
    fn shading(&self, samples: &Samples) -> Vec<f64> {
        let profile = profile(samples.cells.iter(), self.axis);
        let mut bands = vec![0.0; profile.len()];
        let mut shading = bands.clone();
        // Bands and shading each hide a little of the other: a few rounds part them.
        for _ in 0..4 {
            let without = less(&profile, &bands);
            shading =
                less(&without, &values(&detrended(&without))).into_iter().map(|(_, v)| v).collect();
            bands = sinusoid(&less(&profile, &shading), 1.0 / self.period);
        }
        let mut lines = vec![0.0; profile.last().map_or(0, |(line, _)| *line as usize + 1)];
        let mean = shading.iter().sum::<f64>() / shading.len().max(1) as f64;
        for ((line, _), shade) in profile.iter().zip(shading) {
            lines[*line as usize] = shade - mean;
        }
        lines
    }
}

fn less(profile: &[(f64, f64)], values: &[f64]) -> Vec<(f64, f64)> {
    profile.iter().zip(values).map(|((x, v), less)| (*x, v - less)).collect()
}

/// Mean square of the sinusoid of `frequency` (per cell) that fits the profile best.
fn power_at(flat: &[(f64, f64)], frequency: f64) -> f64 {
    let fitted = sinusoid(flat, frequency);
    dot(&fitted, &values(flat)) / flat.len().max(1) as f64
}

/// The values of the sinusoid of `frequency` (per cell) that fits the profile best.
fn sinusoid(flat: &[(f64, f64)], frequency: f64) -> Vec<f64> {
    let turn = std::f64::consts::TAU * frequency;
    let (mut cc, mut ss, mut cs, mut c, mut s) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for &(x, v) in flat {
        let (sine, cosine) = (turn * x).sin_cos();
        cc += cosine * cosine;
        ss += sine * sine;
        cs += cosine * sine;
        c += v * cosine;
        s += v * sine;
    }
    let determinant = cc * ss - cs * cs;
    if determinant <= 1e-9 {
        return vec![0.0; flat.len()];
    }
    let (a, b) = ((c * ss - s * cs) / determinant, (s * cc - c * cs) / determinant);
    flat.iter()
        .map(|(x, _)| {
            let (sine, cosine) = (turn * x).sin_cos();
            a * cosine + b * sine
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::sample::Sample;
    use super::*;
    use std::f64::consts::TAU;

    fn samples(rows: usize, level: impl Fn(f64, f64) -> f64) -> Samples {
        let cells = (0..rows)
            .flat_map(|row| (0..60).map(move |column| (column, row)))
            .map(|(column, row)| Sample {
                column,
                row,
                linear: [level(column as f64, row as f64); 3],
                weight: 1.0,
            })
            .collect();
        Samples::of_cells(cells)
    }

    #[test]
    fn bands_are_found_with_their_period_under_falloff() {
        let banded = samples(200, |x, y| {
            0.5 * (1.0 + 0.1 * (TAU * y / 31.0).sin()) * (1.0 - 0.001 * y) * (1.0 - 0.002 * x)
        });
        let banding = Banding::of(&banded).unwrap();
        assert_eq!(banding.axis, Axis::Down);
        assert!((banding.period - 31.0).abs() < 0.7, "{banding:?}");
        assert!((banding.amplitude - 0.1).abs() < 0.01, "{banding:?}");
    }

    #[test]
    fn shading_and_a_shadow_edge_are_not_bands() {
        let falloff = |x: f64, y: f64| 0.5 - 1e-5 * ((x - 30.0).powi(2) + (y - 100.0).powi(2));
        assert_eq!(Banding::of(&samples(200, falloff)), None);
        assert_eq!(Banding::of(&samples(200, |_, y| if y < 90.0 { 0.6 } else { 0.2 })), None);
        assert_eq!(Banding::of(&samples(4, |_, y| 0.3 + 0.1 * y)), None);
    }

    #[test]
    fn the_mean_over_whole_bands_does_not_depend_on_where_they_are_cut() {
        let mean = |rows: usize, phase: f64| {
            let mut s = samples(rows, |_, y| 0.5 + 0.1 * (TAU * y / 30.0 + phase).sin());
            Banding::of(&s).unwrap().even_out(&mut s);
            s.mean(|v| v).unwrap()[0]
        };
        for (rows, phase) in [(150, 0.0), (164, 1.0), (137, 2.5), (98, 4.0)] {
            assert!((mean(rows, phase) - 0.5).abs() < 0.002, "{rows} rows: {}", mean(rows, phase));
        }
    }

    #[test]
    fn shading_does_not_favour_some_phases() {
        // Bands in one channel only, under a shade that falls by half along them.
        let shade = |y: f64| (-0.004 * y).exp();
        let mut s = samples(170, |_, y| 0.5 * (1.0 + 0.2 * (TAU * y / 34.0).sin()) * shade(y));
        for sample in &mut s.cells {
            sample.linear[2] = 0.5 * shade(sample.row as f64);
        }
        Banding::of(&s).unwrap().even_out(&mut s);
        let [red, _, blue] = s.mean(|v| v).unwrap();
        assert!((red / blue - 1.0).abs() < 0.004, "{}", red / blue);
    }
}
