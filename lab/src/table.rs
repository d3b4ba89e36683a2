//! The bench's built-in tables of spectra.

use crate::error::LabError;
use crate::spectrum::{FIRST_NM, SAMPLES, STEP_NM, Spectrum};

const ILLUMINANTS: &str = include_str!("../data/illuminants-spd-5nm.csv");
const CHART: &str = include_str!("../data/chart-24-reflectance-5nm.csv");

/// The relative spectral power of a tabulated CIE illuminant (`A`, `D65`, `FL2`, `LED-B3`, `HP1`, …).
///
/// # Errors
/// [`LabError::NoSuchColumn`] where the table does not have the name.
pub fn illuminant(name: &str) -> Result<Spectrum, LabError> {
    columns(ILLUMINANTS)?
        .into_iter()
        .find_map(|(column, spectrum)| (column == name).then_some(spectrum))
        .ok_or_else(|| LabError::NoSuchColumn(name.to_owned()))
}

/// All tabulated CIE illuminants by name, in the table's order.
///
/// # Errors
/// [`LabError::DamagedTable`] if the built-in table is not whole.
pub fn illuminants() -> Result<Vec<(String, Spectrum)>, LabError> {
    columns(ILLUMINANTS)
}

/// Reflectance factors of the 24 patches of a colour chart, 0 to 1.
///
/// # Errors
/// [`LabError::DamagedTable`] if the built-in table is not whole.
pub fn chart() -> Result<Vec<Spectrum>, LabError> {
    Ok(columns(CHART)?.into_iter().map(|(_, spectrum)| spectrum).collect())
}

/// Reads `nm,name,name…` with one line a wavelength on the bench's grid; `#` starts a comment line.
fn columns(text: &str) -> Result<Vec<(String, Spectrum)>, LabError> {
    let mut lines = text.lines().enumerate().filter(|(_, line)| !line.starts_with('#'));
    let (_, header) = lines.next().ok_or(LabError::DamagedTable { line: 1 })?;
    let names: Vec<String> = header.split(',').skip(1).map(str::to_owned).collect();
    let mut values = vec![[0.0; SAMPLES]; names.len()];
    let mut rows = 0;
    for (index, line) in lines {
        let damaged = || LabError::DamagedTable { line: index + 1 };
        let numbers: Vec<f64> =
            line.split(',').map(str::parse).collect::<Result<_, _>>().map_err(|_| damaged())?;
        let nm = FIRST_NM + STEP_NM * rows as f64;
        match numbers.split_first() {
            Some((&first, rest)) if first == nm && rest.len() == names.len() && rows < SAMPLES => {
                for (column, &value) in values.iter_mut().zip(rest) {
                    column[rows] = value;
                }
            }
            _ => return Err(damaged()),
        }
        rows += 1;
    }
    if rows != SAMPLES {
        return Err(LabError::DamagedTable { line: rows + 1 });
    }
    Ok(names.into_iter().zip(values.into_iter().map(Spectrum::from_samples)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_are_whole() -> Result<(), LabError> {
        assert_eq!(illuminants()?.len(), 33);
        assert_eq!(chart()?.len(), 24);
        assert_eq!(illuminant("D50")?.at(400.0), 49.308);
        assert!(matches!(illuminant("none"), Err(LabError::NoSuchColumn(_))));
        Ok(())
    }

    #[test]
    fn damage_is_noticed() {
        let shuffled = CHART.replacen("\n405,", "\n410,", 1);
        assert!(matches!(columns(&shuffled), Err(LabError::DamagedTable { line: 4 })));
        let half = &CHART[..CHART.len() / 2];
        assert!(columns(half).is_err());
    }
}
