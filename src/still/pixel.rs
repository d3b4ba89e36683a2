//! Pixels of every layout that is read, and their way to linear light by table.

use std::sync::Arc;

use super::Transfer;
use super::rows::Samples;

/// One channel of one pixel.
pub(super) trait Sample: Copy + 'static {
    /// The code of full scale; 255 divides it.
    const FULL: u32;
    /// Linear light for every code.
    type Table;
    fn table(to_linear: impl Fn(f64) -> f64) -> Arc<Self::Table>;
    fn linear(self, table: &Self::Table) -> f32;
    fn code(self) -> u32;
    /// Samples of this size; none where they are of another.
    fn of(samples: Samples<'_>) -> &[Self];
}

impl Sample for u8 {
    const FULL: u32 = 255;
    type Table = [f32; 256];

    fn table(to_linear: impl Fn(f64) -> f64) -> Arc<Self::Table> {
        Arc::new(std::array::from_fn(|code| to_linear(code as f64 / 255.0) as f32))
    }

    #[inline]
    fn linear(self, table: &Self::Table) -> f32 {
        table[usize::from(self)]
    }

    #[inline]
    fn code(self) -> u32 {
        u32::from(self)
    }

    fn of(samples: Samples<'_>) -> &[Self] {
        if let Samples::Eight(samples) = samples { samples } else { &[] }
    }
}

impl Sample for u16 {
    const FULL: u32 = 65_535;
    /// On the heap: 65 536 entries.
    type Table = Vec<f32>;

    fn table(to_linear: impl Fn(f64) -> f64) -> Arc<Self::Table> {
        Arc::new((0..=u16::MAX).map(|code| to_linear(f64::from(code) / 65_535.0) as f32).collect())
    }

    #[inline]
    fn linear(self, table: &Self::Table) -> f32 {
        table.get(usize::from(self)).copied().unwrap_or(0.0)
    }

    #[inline]
    fn code(self) -> u32 {
        u32::from(self)
    }

    fn of(samples: Samples<'_>) -> &[Self] {
        if let Samples::Sixteen(samples) = samples { samples } else { &[] }
    }
}

/// One table a channel; equal curves share one.
pub(super) fn tables<S: Sample>(transfer: &Transfer) -> [Arc<S::Table>; 3] {
    let table = |channel| S::table(|encoded| transfer.to_linear(channel, encoded));
    let first = table(0);
    let same = match transfer {
        Transfer::Curves(curves) => curves.are_equal(),
        _ => true,
    };
    if same { [first.clone(), first.clone(), first] } else { [first, table(1), table(2)] }
}

/// A pixel of any layout that is read.
pub(super) trait Pixel: Copy {
    type Sample: Sample;
    fn rgb(self) -> [Self::Sample; 3];
    /// At least half opaque.
    fn is_visible(self) -> bool;
    /// The pixels of whole rows.
    fn of(samples: &[Self::Sample]) -> &[Self];
}

fn is_opaque<S: Sample>(alpha: S) -> bool {
    2 * alpha.code() > S::FULL
}

impl<S: Sample> Pixel for [S; 1] {
    type Sample = S;
    #[inline]
    fn rgb(self) -> [S; 3] {
        let [grey] = self;
        [grey; 3]
    }
    #[inline]
    fn is_visible(self) -> bool {
        true
    }
    fn of(samples: &[S]) -> &[Self] {
        samples.as_chunks().0
    }
}

impl<S: Sample> Pixel for [S; 2] {
    type Sample = S;
    #[inline]
    fn rgb(self) -> [S; 3] {
        let [grey, _] = self;
        [grey; 3]
    }
    #[inline]
    fn is_visible(self) -> bool {
        let [_, alpha] = self;
        is_opaque(alpha)
    }
    fn of(samples: &[S]) -> &[Self] {
        samples.as_chunks().0
    }
}

impl<S: Sample> Pixel for [S; 3] {
    type Sample = S;
    #[inline]
    fn rgb(self) -> [S; 3] {
        self
    }
    #[inline]
    fn is_visible(self) -> bool {
        true
    }
    fn of(samples: &[S]) -> &[Self] {
        samples.as_chunks().0
    }
}

impl<S: Sample> Pixel for [S; 4] {
    type Sample = S;
    #[inline]
    fn rgb(self) -> [S; 3] {
        let [red, green, blue, _] = self;
        [red, green, blue]
    }
    #[inline]
    fn is_visible(self) -> bool {
        let [_, _, _, alpha] = self;
        is_opaque(alpha)
    }
    fn of(samples: &[S]) -> &[Self] {
        samples.as_chunks().0
    }
}
