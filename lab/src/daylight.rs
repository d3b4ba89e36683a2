//! Daylight, from components that the tabulated illuminants hold.

use mirecast::colour::Matrix3;

use crate::error::LabError;
use crate::spectrum::Spectrum;
use crate::table;

impl Spectrum {
    /// CIE daylight of any correlated colour temperature from 4000 to 25 000 K, 1 at 560 nm (CIE 15:2018, 4.1.2).
    ///
    /// The components S0, S1, S2 are recovered from the tabulated D illuminants, which are exact combinations of them.
    /// Temperatures outside the range are clamped to it.
    ///
    /// # Errors
    /// [`LabError::DamagedTable`] if the built-in table is not whole.
    pub fn daylight(kelvin: f64) -> Result<Self, LabError> {
        let [s0, s1, s2] = daylight_components()?;
        let (m1, m2) = daylight_weights(kelvin.clamp(4000.0, 25_000.0));
        let power = s0.plus(&s1.scaled(m1)).plus(&s2.scaled(m2));
        Ok(power.scaled(1.0 / power.at(560.0)))
    }
}

/// The weights M1 and M2 of the CIE daylight components.
fn daylight_weights(kelvin: f64) -> (f64, f64) {
    let t = 1.0 / kelvin;
    let x = if kelvin <= 7000.0 {
        -4.6070e9 * t.powi(3) + 2.9678e6 * t.powi(2) + 0.099_11e3 * t + 0.244_063
    } else {
        -2.0064e9 * t.powi(3) + 1.9018e6 * t.powi(2) + 0.247_48e3 * t + 0.237_040
    };
    let y = -3.0 * x * x + 2.870 * x - 0.275;
    let m = 0.0241 + 0.2562 * x - 0.7341 * y;
    let m1 = (-1.3515 - 1.7703 * x + 5.9114 * y) / m;
    let m2 = (0.0300 - 31.4424 * x + 30.0717 * y) / m;
    (m1, m2)
}

/// S0, S1, S2 by least squares over the five tabulated D illuminants.
fn daylight_components() -> Result<[Spectrum; 3], LabError> {
    // The illuminants' nominal temperatures belong to the older value of c2.
    let tabulated =
        [("D50", 5000.0), ("D55", 5500.0), ("D60", 6000.0), ("D65", 6500.0), ("D75", 7500.0)];
    let mut normal = Matrix3::diagonal([0.0; 3]);
    let mut rows = Vec::with_capacity(tabulated.len());
    for (name, nominal_kelvin) in tabulated {
        let (m1, m2) = daylight_weights(nominal_kelvin * 1.4388 / 1.4380);
        // CIE 15 rounds them to three places for its tables.
        let round = |weight: f64| (weight * 1000.0).round() / 1000.0;
        let row = [1.0, round(m1), round(m2)];
        for i in 0..3 {
            for j in 0..3 {
                normal.0[i][j] += row[i] * row[j];
            }
        }
        rows.push((row, table::illuminant(name)?));
    }
    let inverse = normal.inverse().ok_or(LabError::SingularFit)?;
    Ok(std::array::from_fn(|component| {
        rows.iter().fold(Spectrum::flat(0.0), |sum, (row, spectrum)| {
            let weight: f64 = (0..3).map(|j| inverse.0[component][j] * row[j]).sum();
            sum.plus(&spectrum.scaled(weight))
        })
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn planckian_is_illuminant_a() -> Result<(), LabError> {
        // Illuminant A is the Planckian radiator of 2848 K on the scale where c2 is 1.435e-2 m·K.
        let a = table::illuminant("A")?;
        let planckian = Spectrum::planckian(2848.0 * 1.4388 / 1.435);
        for nm in [400.0, 450.0, 500.0, 600.0, 720.0] {
            let ratio = planckian.at(nm) / (a.at(nm) / a.at(560.0));
            assert!((ratio - 1.0).abs() < 2e-4, "{nm}: {ratio}");
        }
        Ok(())
    }

    #[test]
    fn daylight_gives_back_the_tables() -> Result<(), LabError> {
        for (name, kelvin) in [("D50", 5000.0), ("D65", 6500.0), ("D75", 7500.0)] {
            let table = table::illuminant(name)?.scaled(0.01);
            let made = Spectrum::daylight(kelvin * 1.4388 / 1.4380)?;
            for nm in Spectrum::wavelengths_nm() {
                assert!((table.at(nm) - made.at(nm)).abs() < 2e-3, "{name} {nm}");
            }
        }
        Ok(())
    }

    #[test]
    fn daylight_components_are_the_published_ones() -> Result<(), LabError> {
        // CIE 15:2018, table 6, which has one decimal.
        let published = [
            (400.0, [94.8, 43.4, -1.1]),
            (450.0, [125.6, 35.9, -2.9]),
            (500.0, [113.1, 16.2, -1.5]),
            (590.0, [89.1, -3.5, 2.1]),
            (650.0, [81.9, -10.7, 7.3]),
            (700.0, [74.3, -13.3, 9.6]),
        ];
        for (nm, values) in published {
            for (component, value) in daylight_components()?.iter().zip(values) {
                let found = component.at(nm);
                assert!((found - value).abs() < 0.06, "{nm}: {found} {value}");
            }
        }
        Ok(())
    }
}
