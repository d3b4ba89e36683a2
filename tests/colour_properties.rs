//! What holds for every colour, tried on random ones.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

use mirecast::colour::{
    Adaptation, CctDuv, ColourError, Duv, Kelvin, Lab, Mired, TransferCurve, Uv, Xy, Xyz,
    chromaticity, delta_e_2000, srgb,
};
use palette::Srgb;
use proptest::prelude::*;

fn light(mired: f64, duv: f64) -> CctDuv {
    CctDuv::new(Mired::new(mired).unwrap().kelvin(), Duv::new(duv)).unwrap()
}

/// Positions over the whole domain in mired.
fn mireds() -> impl Strategy<Value = f64> {
    prop_oneof![8 => 25.0..=1000.0, 1 => Just(25.0), 1 => Just(1000.0)]
}

/// Distances from the locus over the whole domain.
fn duvs() -> impl Strategy<Value = f64> {
    prop_oneof![8 => -0.05..=0.05, 1 => Just(-0.05), 1 => Just(0.0), 1 => Just(0.05)]
}

fn whites() -> impl Strategy<Value = Xyz> {
    (mireds(), duvs()).prop_map(|(mired, duv)| light(mired, duv).to_xy().to_xyz())
}

fn colours() -> impl Strategy<Value = Xyz> {
    (0.0..1.2, 0.0..1.2, 0.0..1.5).prop_map(|(x, y, z)| Xyz::new(x, y, z))
}

fn transforms() -> impl Strategy<Value = Adaptation> {
    prop_oneof![Just(Adaptation::Cat16), Just(Adaptation::Bradford), Just(Adaptation::XyzScaling)]
}

fn curves() -> impl Strategy<Value = TransferCurve> {
    prop_oneof![
        Just(TransferCurve::Linear),
        Just(TransferCurve::Srgb),
        Just(TransferCurve::Rec709),
        (1.0..3.0).prop_map(TransferCurve::Gamma),
    ]
}

fn farthest(a: Xyz, b: Xyz) -> f64 {
    (a.x - b.x).abs().max((a.y - b.y).abs()).max((a.z - b.z).abs())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn cct_and_duv_come_back(mired in mireds(), duv in duvs()) {
        let start = light(mired, duv);
        for back in [CctDuv::from_uv(start.to_uv()), CctDuv::from_xy(start.to_xy())] {
            let back = back.unwrap();
            // 10⁻¹¹ of table against 0.0002 of locus a mired, at most doubled by its curvature.
            prop_assert!((back.cct.mired().get() - mired).abs() < 1e-8, "{:?}", back);
            prop_assert!((back.duv.get() - duv).abs() < 1e-12, "{:?}", back);
        }
    }

    #[test]
    fn chromaticity_comes_back(mired in mireds(), duv in duvs()) {
        let start = light(mired, duv).to_uv();
        let back = CctDuv::from_uv(start).unwrap().to_uv();
        prop_assert!((back.u - start.u).abs() < 1e-12 && (back.v - start.v).abs() < 1e-12);
    }

    /// No point of the locus is nearer than the one found.
    #[test]
    fn the_point_found_is_the_nearest(mired in mireds(), duv in duvs(), other in mireds()) {
        let target = light(mired, duv).to_uv();
        let elsewhere = light(other, 0.0).to_uv();
        let distance = (target.u - elsewhere.u).hypot(target.v - elsewhere.v);
        let found = CctDuv::from_uv(target).unwrap();
        prop_assert!(found.duv.abs().get() <= distance + 1e-12, "{:?} {}", found, distance);
    }

    #[test]
    fn mired_grows_along_the_locus(
        mired in mireds(),
        further in 0.001..50.0,
        duv in duvs(),
    ) {
        prop_assume!(mired + further <= 1000.0);
        let (near, far) = (light(mired, duv).to_uv(), light(mired + further, duv).to_uv());
        prop_assert!(far.u > near.u, "the orange end has the larger u");
        let (near, far) = (CctDuv::from_uv(near).unwrap(), CctDuv::from_uv(far).unwrap());
        prop_assert!(far.cct.mired() > near.cct.mired());
        prop_assert!(far.cct < near.cct);
        prop_assert!((far.cct.mired() - near.cct.mired()).get() > 0.0);
    }

    #[test]
    fn duv_is_symmetric_about_the_locus(mired in mireds(), duv in 1e-6..=0.05) {
        let (green, magenta) = (light(mired, duv).to_uv(), light(mired, -duv).to_uv());
        let locus = light(mired, 0.0).to_uv();
        let middle = Uv::new((green.u + magenta.u) / 2.0, (green.v + magenta.v) / 2.0);
        prop_assert!((middle.u - locus.u).abs() < 1e-15 && (middle.v - locus.v).abs() < 1e-15);
        prop_assert!(green.v > magenta.v, "above the locus is +");
        let (green, magenta) =
            (CctDuv::from_uv(green).unwrap(), CctDuv::from_uv(magenta).unwrap());
        prop_assert!((green.duv + magenta.duv).abs().get() < 1e-12);
        prop_assert!(green.duv.get() > 0.0);
        prop_assert!((green.cct.mired() - magenta.cct.mired()).abs().get() < 1e-8);
    }

    #[test]
    fn beyond_the_domain_is_an_error(mired in mireds(), duv in 0.050_001..0.09_f64) {
        for duv in [duv, -duv] {
            let cct = Mired::new(mired).unwrap().kelvin();
            let outside = CctDuv { cct, duv: Duv::new(duv) };
            let refused = CctDuv::from_uv(outside.to_uv());
            prop_assert_eq!(refused, Err(ColourError::TooFarFromLocus));
        }
    }

    #[test]
    fn exposure_does_not_change_colour(white in whites(), factor in 1e-6..1e6) {
        let (near, far) = (chromaticity(white).unwrap(), chromaticity(white * factor).unwrap());
        prop_assert!((near.x - far.x).abs() < 1e-15 && (near.y - far.y).abs() < 1e-15);
    }

    /// Whatever it is given, an answer lies in the domain and is the colour that was given.
    #[test]
    fn any_pair_of_numbers_is_answered(
        u in prop_oneof![6 => -0.1..0.8, 1 => any::<f64>()],
        v in prop_oneof![6 => 0.0..0.6, 1 => any::<f64>()],
    ) {
        if let Ok(found) = CctDuv::from_uv(Uv::new(u, v)) {
            prop_assert!((999.9..=40_000.1).contains(&found.cct.get()), "{:?}", found);
            prop_assert!(found.duv.abs().get() <= 0.050_000_1, "{:?}", found);
            let back = found.to_uv();
            prop_assert!((back.u - u).abs() < 1e-11 && (back.v - v).abs() < 1e-11, "{:?}", found);
        }
    }

    #[test]
    fn adaptation_comes_back(
        transform in transforms(), colour in colours(), from in whites(), to in whites(),
    ) {
        let there = transform.adapt(colour, from, to);
        let back = transform.adapt(there, to, from);
        prop_assert!(farthest(back, colour) < 1e-11, "{:?} {:?}", back, colour);
    }

    #[test]
    fn adaptation_takes_white_to_white(
        transform in transforms(), from in whites(), to in whites(),
    ) {
        prop_assert!(farthest(transform.adapt(from, from, to), to) < 1e-11);
    }

    #[test]
    fn adaptation_to_the_same_white_changes_nothing(
        transform in transforms(), colour in colours(), white in whites(),
    ) {
        prop_assert!(farthest(transform.adapt(colour, white, white), colour) < 1e-14);
    }

    #[test]
    fn adaptation_keeps_exposure(
        transform in transforms(),
        colour in colours(),
        from in whites(),
        to in whites(),
        factor in 0.0..1.0,
    ) {
        let scaled = transform.adapt(colour * factor, from, to);
        let scaled_after = transform.adapt(colour, from, to) * factor;
        // A white with hardly any of one cone's light makes that cone's gain, and what is rounded, large.
        let size = [colour, scaled_after].map(|xyz| farthest(xyz, Xyz::new(0.0, 0.0, 0.0)));
        prop_assert!(farthest(scaled, scaled_after) < 1e-11 * (1.0 + size[0] + size[1]));
    }

    #[test]
    fn difference_is_the_same_both_ways_and_none_from_itself(
        l in 0.0..100.0, a in -100.0..100.0, b in -100.0..100.0,
        other_l in 0.0..100.0, other_a in -100.0..100.0, other_b in -100.0..100.0,
    ) {
        let (one, other) = (Lab::new(l, a, b), Lab::new(other_l, other_a, other_b));
        let (there, back) = (delta_e_2000(one, other), delta_e_2000(other, one));
        prop_assert!((there - back).abs() < 1e-9, "{} {}", there, back);
        prop_assert!(there > 0.0);
        prop_assert_eq!(delta_e_2000(one, one), 0.0);
    }

    #[test]
    fn transfer_curves_come_back(curve in curves(), value in -1.5..1.5) {
        // The two halves of sRGB meet only to 10⁻⁷ with the standard's rounded digits, those of
        // Rec. 709 to 10⁻⁴; away from the seam both are exact.
        let size = f64::abs(value);
        let tolerance = match curve {
            TransferCurve::Srgb if (size - 0.040_45).abs() < 1e-6 => 1e-7,
            TransferCurve::Rec709 if (size - 0.081).abs() < 1e-3 => 1e-3,
            _ => 1e-12,
        };
        let back = curve.encode(curve.decode(value));
        prop_assert!((back - value).abs() < tolerance, "{} {}", value, back);
    }

    #[test]
    fn srgb_comes_back(red in -0.2..1.2, green in -0.2..1.2, blue in -0.2..1.2) {
        let start = Srgb::new(red, green, blue);
        let back = srgb::encode(srgb::from_xyz(srgb::to_xyz(srgb::decode(start))));
        for (back, start) in
            [(back.red, red), (back.green, green), (back.blue, blue)]
        {
            prop_assert!((back - start).abs() < 1e-7, "{} {}", back, start);
        }
    }
}

#[test]
fn the_edges_of_the_domain() {
    let at = |kelvin: f64, duv: f64| CctDuv::new(Kelvin::new(kelvin).unwrap(), Duv::new(duv));
    for kelvin in [1000.0, 40_000.0] {
        for duv in [-0.05, 0.0, 0.05] {
            let back = CctDuv::from_uv(at(kelvin, duv).unwrap().to_uv()).unwrap();
            assert!((back.cct.get() / kelvin - 1.0).abs() < 1e-9, "{kelvin} {duv} {back:?}");
        }
    }
    assert_eq!(at(999.0, 0.0), Err(ColourError::BelowCctRange));
    assert_eq!(at(40_001.0, 0.0), Err(ColourError::AboveCctRange));
    for duv in [0.0501, -0.0501, f64::NAN, f64::INFINITY] {
        assert_eq!(at(5600.0, duv), Err(ColourError::TooFarFromLocus), "{duv}");
    }
}

#[test]
fn chromaticities_beyond_the_domain_are_errors() {
    let of = |kelvin: f64, duv: f64| {
        let cct = Kelvin::new(kelvin).unwrap();
        CctDuv::from_uv(CctDuv { cct, duv: Duv::new(duv) }.to_uv())
    };
    for duv in [-0.049, -0.01, 0.0, 0.01, 0.049] {
        for cool in [999.0, 995.0, 900.0] {
            assert_eq!(of(cool, duv), Err(ColourError::BelowCctRange), "{cool} {duv}");
        }
        for hot in [40_001.0, 45_000.0, 60_000.0, 1e6, 1e12] {
            assert_eq!(of(hot, duv), Err(ColourError::AboveCctRange), "{hot} {duv}");
        }
    }
    // Off the end and off the side.
    for kelvin in [900.0, 60_000.0] {
        assert_eq!(of(kelvin, -0.06), Err(ColourError::TooFarFromLocus), "{kelvin}");
    }
}

#[test]
fn coordinates_that_are_no_numbers_are_errors() {
    for broken in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert_eq!(CctDuv::from_uv(Uv::new(broken, 0.3)), Err(ColourError::NotFinite));
        assert_eq!(CctDuv::from_uv(Uv::new(0.3, broken)), Err(ColourError::NotFinite));
        assert_eq!(CctDuv::from_xy(Xy::new(broken, 0.3)), Err(ColourError::NotFinite));
    }
    for far in [1e10, -1e10, 1e200, f64::MAX] {
        assert_eq!(CctDuv::from_uv(Uv::new(far, 0.3)), Err(ColourError::TooFarFromLocus));
    }
}

/// Colours of the spectrum and of the primaries are no lights.
#[test]
fn saturated_colours_are_too_far() {
    for (x, y) in [(0.30, 0.60), (0.15, 0.06), (0.08, 0.85), (0.35, 0.15)] {
        assert_eq!(CctDuv::from_xy(Xy::new(x, y)), Err(ColourError::TooFarFromLocus), "{x} {y}");
    }
}
