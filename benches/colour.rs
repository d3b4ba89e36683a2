//! How fast the colour layer is: one core, items a second.

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use mirecast::colour::{CctDuv, Duv, Kelvin, Lab, Uv, delta_e_2000, planckian};

fn main() {
    divan::main();
}

/// Chromaticities all over the domain, in no order a branch predictor could learn.
fn domain() -> Vec<Uv> {
    (0..10_000_u32)
        .filter_map(|index| {
            let along = (f64::from(index) * 0.618_033_988_749_895).fract();
            let aside = (f64::from(index) * 0.754_877_666_246_693).fract();
            let cct = Kelvin::new(1e6 / (25.0 + 975.0 * along)).ok()?;
            Some(CctDuv::new(cct, Duv::new(0.1 * aside - 0.05)).ok()?.to_uv())
        })
        .collect()
}

#[divan::bench]
fn cct_from_uv(bencher: Bencher) {
    let colours = domain();
    assert_eq!(colours.len(), 10_000);
    bencher.counter(ItemsCount::new(colours.len())).bench(|| {
        colours.iter().filter(|uv| black_box(CctDuv::from_uv(black_box(**uv))).is_ok()).count()
    });
}

#[divan::bench]
fn cct_to_uv(bencher: Bencher) {
    let lights: Vec<CctDuv> =
        domain().into_iter().filter_map(|uv| CctDuv::from_uv(uv).ok()).collect();
    bencher.counter(ItemsCount::new(lights.len())).bench(|| {
        for light in &lights {
            black_box(black_box(light).to_uv());
        }
    });
}

#[divan::bench]
fn planckian_exact_sum(bencher: Bencher) {
    let light = Kelvin::new(5600.0).ok();
    bencher.counter(ItemsCount::new(1_usize)).bench(|| black_box(light).map(planckian::uv));
}

#[divan::bench]
fn delta_e(bencher: Bencher) {
    let pair = (Lab::new(50.0, 2.0, 30.0), Lab::new(52.0, -4.0, 33.0));
    bencher.counter(ItemsCount::new(1_usize)).bench(|| {
        let (first, second) = black_box(pair);
        delta_e_2000(first, second)
    });
}
