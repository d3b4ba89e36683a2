//! Which gel brings one source nearest to another.

use schemars::JsonSchema;
use serde::Serialize;

use super::shift::Shift;
use crate::balance::{Gel, GelKind, GelTable, appearance};

/// A gel, or one for temperature and one for tint, on one source so that it comes near another.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct GelChoice {
    /// The set-up whose source gets the gel.
    pub on: String,
    /// The set-up that it is to match.
    pub toward: String,
    /// The gel; two with ` + ` between.
    pub gel: String,
    /// What is left over in mired, gelled source − other: + still more orange.
    pub left_mired: f64,
    /// What is left over in Duv: + still greener.
    pub left_duv: f64,
    /// How the gelled source then looks beside the other.
    pub appearance: String,
    /// Light that it costs, stops.
    pub stops: f64,
}

/// What to keep in mind whenever a gel is put on a lamp.
pub const GEL_CAUTIONS: [&str; 4] = [
    "Switch the lamp off and let it cool before you put a gel on or take it off.",
    "Hold gels in a frame well away from the lamp and its vents; never wrap or tape them to a hot \
     lamp.",
    "Weigh down stands, secure what hangs overhead, and have a second person hold a ladder.",
    "Leave mains wiring to a competent person. The maker's instructions for lamp and gel and your \
     local codes come first.",
];

/// A mired and a Duv that show about equally: those at which a cast is clear.
const CLEAR_MIRED: f64 = 20.0;
pub(super) const CLEAR_DUV: f64 = 0.006;
/// A gel that brings the sources nearer by less than this, 6 mired or what shows like it, is not
/// worth its light.
const WORTH: f64 = 0.3;
/// The same of a second sheet of a kind, 10 mired: it is one more thing to hang.
const WORTH_A_SHEET: f64 = 0.5;
/// Gels within this of the best are as good, and the one that costs least light is taken.
const AS_GOOD: f64 = 0.1;

/// What lies between a gelled source and the other, as far as it is real: what may be nothing is
/// not to be corrected.
#[derive(Clone, Copy)]
struct Gap {
    mired: f64,
    duv: f64,
    mired_counts: bool,
    duv_counts: bool,
}

impl Gap {
    fn size(self) -> f64 {
        let part = |counts: bool, part: f64| if counts { part } else { 0.0 };
        part(self.mired_counts, self.mired / CLEAR_MIRED)
            .hypot(part(self.duv_counts, self.duv / CLEAR_DUV))
    }
}

/// Gels put together, and what they leave.
struct Filtered<'a> {
    gels: Vec<&'a Gel>,
    left: Gap,
}

impl<'a> Filtered<'a> {
    fn of(gap: Gap, gels: Vec<&'a Gel>) -> Self {
        let left = gels.iter().fold(gap, |left, gel| Gap {
            mired: left.mired + gel.mired.get(),
            duv: left.duv + gel.duv.get(),
            ..left
        });
        Self { gels, left }
    }

    fn stops(&self) -> f64 {
        self.gels.iter().map(|gel| gel.stops).sum()
    }

    /// The one that leaves least, or costs least light of those about as good.
    fn best(options: Vec<Self>) -> Option<Self> {
        let least = options.iter().map(|option| option.left.size()).reduce(f64::min)?;
        options
            .into_iter()
            .filter(|option| option.left.size() <= least + AS_GOOD)
            .min_by(|a, b| a.stops().total_cmp(&b.stops()))
    }
}

impl GelChoice {
    /// For both ways over a shift: the gel on the one source, and the gel on the other. None that
    /// gains nothing, and none for a difference that may be none.
    pub(super) fn both_ways(shift: &Shift, gels: &GelTable) -> impl Iterator<Item = Self> {
        let gap = |mired: f64, duv: f64| Gap {
            mired,
            duv,
            mired_counts: shift.mired_is_real,
            duv_counts: shift.duv_is_real,
        };
        let ways = [
            (&shift.from, &shift.to, gap(-shift.mired, -shift.duv)),
            (&shift.to, &shift.from, gap(shift.mired, shift.duv)),
        ];
        ways.map(|(on, toward, gap)| Self::of(on, toward, gap, gels)).into_iter().flatten()
    }

    fn of(on: &str, toward: &str, gap: Gap, gels: &GelTable) -> Option<Self> {
        let of_kind = |kind, counts: bool| gels.of_kind(kind).filter(move |_| counts);
        let temperature = of_kind(GelKind::Temperature, gap.mired_counts);
        let green = of_kind(GelKind::Green, gap.duv_counts);
        let single = temperature.clone().chain(green.clone());
        let pairs = temperature.flat_map(|gel| green.clone().map(move |other| vec![gel, other]));
        let best = |options: Vec<Vec<_>>, instead_of: f64| {
            let options = options.into_iter().map(|gels| Filtered::of(gap, gels)).collect();
            Filtered::best(options).filter(|best| instead_of - best.left.size() >= WORTH)
        };
        let one = best(single.map(|gel| vec![gel]).collect(), gap.size());
        let instead_of = one.as_ref().map_or(gap.size(), |one| one.left.size());
        let two_kinds = best(pairs.collect(), instead_of);
        let chosen = two_kinds.or_else(|| two_sheets(gap, gels, instead_of)).or(one)?;
        let names: Vec<&str> = chosen.gels.iter().map(|gel| gel.name.as_str()).collect();
        Some(Self {
            on: on.to_owned(),
            toward: toward.to_owned(),
            gel: names.join(" + "),
            left_mired: chosen.left.mired,
            left_duv: chosen.left.duv,
            appearance: appearance(chosen.left.mired, chosen.left.duv),
            stops: chosen.stops(),
        })
    }
}

/// Two sheets for temperature, the denser first, where one leaves what shows and both much less.
fn two_sheets<'a>(gap: Gap, gels: &'a GelTable, instead_of: f64) -> Option<Filtered<'a>> {
    if !gap.mired_counts {
        return None;
    }
    let sheets: Vec<&Gel> = gels.of_kind(GelKind::Temperature).collect();
    let pairs = sheets.iter().enumerate().flat_map(|(index, first)| {
        sheets.iter().skip(index).map(move |second| {
            let by_strength = |gel: &&Gel| gel.mired.get().abs();
            let denser_first = by_strength(first) >= by_strength(second);
            if denser_first { vec![*first, *second] } else { vec![*second, *first] }
        })
    });
    let alike = |pair: &Vec<&Gel>| pair.iter().all(|gel| gel.mired.get() * gap.mired < 0.0);
    let options = pairs.filter(alike).map(|pair| Filtered::of(gap, pair)).collect();
    Filtered::best(options).filter(|both| instead_of - both.left.size() >= WORTH_A_SHEET)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shift(mired: f64, duv: f64) -> Shift {
        Shift {
            from: "window".to_owned(),
            to: "lamp".to_owned(),
            mired,
            mired_interval: [mired - 5.0, mired + 5.0],
            duv,
            duv_interval: [duv - 0.002, duv + 0.002],
            mired_is_real: mired.abs() > 5.0,
            duv_is_real: duv.abs() > 0.002,
            appearance: String::new(),
        }
    }

    fn choices(mired: f64, duv: f64) -> Vec<GelChoice> {
        GelChoice::both_ways(&shift(mired, duv), &GelTable::built_in().unwrap()).collect()
    }

    #[test]
    fn a_lamp_goes_toward_a_window_by_blue_and_a_window_toward_a_lamp_by_orange() {
        let [window, lamp] = choices(133.0, 0.0).try_into().unwrap();
        assert_eq!((window.on.as_str(), window.gel.as_str()), ("window", "full CTO"));
        assert_eq!((lamp.on.as_str(), lamp.gel.as_str()), ("lamp", "full CTB"));
        assert!((lamp.left_mired - 2.3).abs() < 1e-9 && (window.left_mired + 2.3).abs() < 1e-9);
        assert!(lamp.stops > window.stops, "blue costs more light than orange");
    }

    #[test]
    fn a_green_lamp_takes_a_green_gel_as_well() {
        let [on_window, on_lamp] = choices(66.0, 0.016).try_into().unwrap();
        assert_eq!(on_lamp.gel, "1/2 CTB + 1/2 minus green");
        assert_eq!(on_window.gel, "1/2 CTO + 1/2 plus green");
        let [on_window, on_lamp] = choices(0.0, 0.016).try_into().unwrap();
        assert_eq!(
            (on_lamp.gel.as_str(), on_window.gel.as_str()),
            ("1/2 minus green", "1/2 plus green")
        );
    }

    #[test]
    fn a_second_sheet_is_named_where_one_leaves_what_shows() {
        let [on_window, on_lamp] = choices(147.0, 0.0).try_into().unwrap();
        assert_eq!(on_window.gel, "full CTO + 1/8 CTO");
        assert!(on_window.left_mired.abs() < 5.0, "{on_window:?}");
        assert!(on_lamp.gel.starts_with("full CTB + "), "{on_lamp:?}");
        // Seven mired hardly show.
        assert_eq!(choices(138.0, 0.0)[0].gel, "full CTO");
    }

    #[test]
    fn no_gel_is_named_that_gains_nothing() {
        for (mired, duv) in [(0.0, 0.0), (6.0, 0.0), (-6.0, 0.0021), (4.9, 0.0019)] {
            assert_eq!(choices(mired, duv), [], "{mired} {duv}");
        }
        for mired in [-300.0, -90.0, -17.0, 17.0, 40.0, 131.0, 250.0] {
            for duv in [-0.03, -0.004, 0.0, 0.004, 0.012] {
                for choice in choices(mired, duv) {
                    let size = |mired: f64, duv: f64| (mired / CLEAR_MIRED).hypot(duv / CLEAR_DUV);
                    let left = size(choice.left_mired, choice.left_duv);
                    assert!(left < size(mired, duv), "{mired} {duv}: {choice:?}");
                }
            }
        }
    }

    #[test]
    fn of_gels_about_as_good_the_one_that_costs_less_light_is_taken() {
        let table = GelTable::parse(
            "[dear]\nkind = \"temperature\"\nmired = -100\nstops = 2\n\
             [cheap]\nkind = \"temperature\"\nmired = -99\nstops = 1\n",
            "t",
        );
        let table = table.unwrap();
        let chosen: Vec<_> = GelChoice::both_ways(&shift(100.0, 0.0), &table).collect();
        assert_eq!(chosen.len(), 1, "none for the window: {chosen:?}");
        assert_eq!(chosen[0].gel, "cheap");
    }
}
