//! The CIE daylight locus and its spectra.

use super::{ColourError, Kelvin, Xy};

/// The coolest daylight, 4000 K.
const COOLEST: f64 = 4000.0;
/// The hottest daylight, 25 000 K.
const HOTTEST: f64 = 25_000.0;
/// Where one polynomial of the locus gives way to the other; it belongs to the first.
const SEAM: f64 = 7000.0;

/// The chromaticity of CIE daylight at a nominal temperature from 4000 K to 25 000 K
/// (CIE 015:2018, 4.1.2).
///
/// The formula is taken at the number of kelvin given. The standard illuminants are a little off
/// it: c₂ changed since, and D65 is daylight at 6504 K by today's, at 6500 K by the one of then.
///
/// # Errors
/// [`ColourError::OutsideDaylightLocus`] outside 4000–25 000 K.
pub fn xy(nominal: Kelvin) -> Result<Xy, ColourError> {
    let kelvin = nominal.get();
    if !(COOLEST..=HOTTEST).contains(&kelvin) {
        return Err(ColourError::OutsideDaylightLocus(kelvin));
    }
    let per_kelvin = 1.0 / kelvin;
    let [cubic, square, linear, constant] = if kelvin <= SEAM {
        [-4.6070e9, 2.9678e6, 0.099_11e3, 0.244_063]
    } else {
        [-2.0064e9, 1.9018e6, 0.247_48e3, 0.237_040]
    };
    let x = constant + per_kelvin * (linear + per_kelvin * (square + per_kelvin * cubic));
    Ok(Xy { x, y: -3.000 * x * x + 2.870 * x - 0.275 })
}

/// The relative spectrum of CIE daylight at a nominal temperature from 4000 K to 25 000 K, as
/// (wavelength in nm, value) at 10 nm from 300 to 830 nm, about 100 at 560 nm (CIE 015:2018, 4.1.2).
///
/// Between the samples it is defined by straight lines. M₁ and M₂ are not rounded to three
/// decimals, as the standard asks for its tables.
///
/// # Errors
/// [`ColourError::OutsideDaylightLocus`] outside 4000–25 000 K.
pub fn daylight_spd(nominal: Kelvin) -> Result<[(f64, f64); 54], ColourError> {
    let Xy { x, y } = xy(nominal)?;
    let divisor = 0.0241 + 0.2562 * x - 0.7341 * y;
    let first = (-1.3515 - 1.7703 * x + 5.9114 * y) / divisor;
    let second = (0.0300 - 31.4424 * x + 30.0717 * y) / divisor;
    Ok(COMPONENTS.map(|(nm, s0, s1, s2)| (nm, s0 + first * s1 + second * s2)))
}

/// Wavelength in nm and the components S₀, S₁ and S₂ of daylight (CIE 015:2018, every
/// other row: those between are their means).
#[rustfmt::skip]
const COMPONENTS: [(f64, f64, f64, f64); 54] = [
    (300.0, 0.04, 0.02, 0.0), (310.0, 6.0, 4.5, 2.0), (320.0, 29.6, 22.4, 4.0),
    (330.0, 55.3, 42.0, 8.5), (340.0, 57.3, 40.6, 7.8), (350.0, 61.8, 41.6, 6.7),
    (360.0, 61.5, 38.0, 5.3), (370.0, 68.8, 42.4, 6.1), (380.0, 63.4, 38.5, 3.0),
    (390.0, 65.8, 35.0, 1.2), (400.0, 94.8, 43.4, -1.1), (410.0, 104.8, 46.3, -0.5),
    (420.0, 105.9, 43.9, -0.7), (430.0, 96.8, 37.1, -1.2), (440.0, 113.9, 36.7, -2.6),
    (450.0, 125.6, 35.9, -2.9), (460.0, 125.5, 32.6, -2.8), (470.0, 121.3, 27.9, -2.6),
    (480.0, 121.3, 24.3, -2.6), (490.0, 113.5, 20.1, -1.8), (500.0, 113.1, 16.2, -1.5),
    (510.0, 110.8, 13.2, -1.3), (520.0, 106.5, 8.6, -1.2), (530.0, 108.8, 6.1, -1.0),
    (540.0, 105.3, 4.2, -0.5), (550.0, 104.4, 1.9, -0.3), (560.0, 100.0, 0.0, 0.0),
    (570.0, 96.0, -1.6, 0.2), (580.0, 95.1, -3.5, 0.5), (590.0, 89.1, -3.5, 2.1),
    (600.0, 90.5, -5.8, 3.2), (610.0, 90.3, -7.2, 4.1), (620.0, 88.4, -8.6, 4.7),
    (630.0, 84.0, -9.5, 5.1), (640.0, 85.1, -10.9, 6.7), (650.0, 81.9, -10.7, 7.3),
    (660.0, 82.6, -12.0, 8.6), (670.0, 84.9, -14.0, 9.8), (680.0, 81.3, -13.6, 10.2),
    (690.0, 71.9, -12.0, 8.3), (700.0, 74.3, -13.3, 9.6), (710.0, 76.4, -12.9, 8.5),
    (720.0, 63.3, -10.6, 7.0), (730.0, 71.7, -11.6, 7.6), (740.0, 77.0, -12.2, 8.0),
    (750.0, 65.2, -10.2, 6.7), (760.0, 47.7, -7.8, 5.2), (770.0, 68.6, -11.2, 7.4),
    (780.0, 65.0, -10.4, 6.8), (790.0, 66.0, -10.6, 7.0), (800.0, 61.0, -9.7, 6.4),
    (810.0, 53.3, -8.3, 5.5), (820.0, 58.9, -9.3, 6.1), (830.0, 61.9, -9.8, 6.5),
];

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;

    fn kelvin(value: f64) -> Kelvin {
        Kelvin::new(value).unwrap()
    }

    #[test]
    fn the_locus_ends_where_the_standard_says() {
        for inside in [4000.0, 6999.0, 7000.0, 25_000.0] {
            assert!(xy(kelvin(inside)).is_ok() && daylight_spd(kelvin(inside)).is_ok());
        }
        for outside in [1.0, 3999.999, 25_000.001, 1e300] {
            let refused = ColourError::OutsideDaylightLocus(outside);
            assert_eq!(xy(kelvin(outside)), Err(refused));
            assert_eq!(daylight_spd(kelvin(outside)), Err(refused));
        }
    }

    #[test]
    fn the_two_polynomials_nearly_meet() {
        let (below, above) = (xy(kelvin(7000.0)).unwrap(), xy(kelvin(7000.0001)).unwrap());
        let jump = (below.x - above.x).abs();
        assert!(jump > 1e-7 && jump < 1e-6, "{jump}");
    }
}
