//! Tests of the whole reader.

mod against_decoder;
mod exact;
mod hostile;
mod writer;

/// The files of `tests/data/jpeg`, made by the script there: their names say what they are.
const FIXTURES: [(&str, &[u8]); 11] = {
    macro_rules! fixture {
        ($name:literal) => {
            ($name, include_bytes!(concat!("../../../../tests/data/jpeg/", $name, ".jpg")))
        };
    }
    [
        fixture!("444-baseline-restart"),
        fixture!("444-progressive"),
        fixture!("422-baseline-restart"),
        fixture!("422-baseline-optimised"),
        fixture!("422-progressive"),
        fixture!("420-baseline-restart"),
        fixture!("420-progressive"),
        fixture!("420-progressive-restart"),
        fixture!("rgb-baseline"),
        fixture!("grey-baseline"),
        fixture!("grey-progressive"),
    ]
};

/// Repeatable numbers that look random (a linear congruential generator, upper half).
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> u32 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 32) as u32
    }

    /// A number below `end`.
    fn below(&mut self, end: usize) -> usize {
        self.next() as usize % end
    }
}
