//! The classical estimators, each one power mean of the frame or of its edges.

use mirecast::still::LinearFrame;

/// How many there are.
pub(super) const CLASSICAL_COUNT: usize = 4;
/// Their names.
pub(super) const NAMES: [&str; CLASSICAL_COUNT] =
    ["grey world", "shades of grey", "max-RGB", "grey edge"];

/// The colour of a neutral surface that each says, in linear RGB. Cells that are clipped or black are left out.
pub(super) fn whites(frame: &LinearFrame) -> [[f64; 3]; CLASSICAL_COUNT] {
    let colour = |column: u32, row: u32| {
        let cell = frame.get(column, row)?;
        let counts = cell.weight > 0.5 && cell.clipped < 0.01 && cell.black < 0.5;
        counts.then(|| cell.mean.map(f64::from))
    };
    let places = || (0..frame.rows).flat_map(|row| (0..frame.columns).map(move |c| (c, row)));
    let colours: Vec<_> = places().filter_map(|(column, row)| colour(column, row)).collect();
    let edges: Vec<_> = places()
        .flat_map(|(column, row)| {
            let here = colour(column, row);
            [colour(column + 1, row), colour(column, row + 1)].map(|next| {
                here.zip(next).map(|(a, b)| std::array::from_fn(|i| f64::abs(a[i] - b[i])))
            })
        })
        .flatten()
        .collect();
    [
        power_mean(&colours, 1),
        power_mean(&colours, 6),
        percentile(&colours, 0.999),
        power_mean(&edges, 1),
    ]
}

fn power_mean(colours: &[[f64; 3]], order: i32) -> [f64; 3] {
    let count = colours.len().max(1) as f64;
    std::array::from_fn(|i| {
        let sum: f64 = colours.iter().map(|colour| colour[i].max(0.0).powi(order)).sum();
        (sum / count).powf(1.0 / f64::from(order)).max(1e-6)
    })
}

fn percentile(colours: &[[f64; 3]], part: f64) -> [f64; 3] {
    std::array::from_fn(|i| {
        let mut values: Vec<f64> = colours.iter().map(|colour| colour[i]).collect();
        values.sort_by(f64::total_cmp);
        let at = (part * values.len().saturating_sub(1) as f64) as usize;
        values.get(at).copied().unwrap_or(1.0).max(1e-6)
    })
}
