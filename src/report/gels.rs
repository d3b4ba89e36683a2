//! The gel table as records and as text.

use std::io::{self, Write};

use schemars::JsonSchema;
use serde::Serialize;

use super::rounded::{DUV, MIRED, round};
use super::text::{in_columns, width, write_wrapped};
use super::words::{sentence, signed};
use crate::balance::{Gel, GelKind};
use crate::setups::GEL_CAUTIONS;

/// One gel.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(title = "Gel record")]
pub struct GelRecord {
    /// Its name.
    pub name: String,
    /// What it is meant to change.
    pub kind: GelKind,
    /// What it does to a light's place in mired: + more orange, − bluer.
    pub mired: f64,
    /// What it does to a light's Duv: + greener, − more magenta.
    pub duv: f64,
    /// Light that it costs, stops.
    pub stops: f64,
}

impl From<&Gel> for GelRecord {
    fn from(gel: &Gel) -> Self {
        let [mut mired, mut duv, mut stops] = [gel.mired.get(), gel.duv.get(), gel.stops];
        round(&mut mired, MIRED);
        round(&mut duv, DUV);
        round(&mut stops, 100.0);
        Self { name: gel.name.clone(), kind: gel.kind, mired, duv, stops }
    }
}

/// Writes gels as text, with the cautions that go with them.
///
/// # Errors
/// What the writer says.
pub fn write_gels_text(out: &mut impl Write, gels: &[GelRecord]) -> io::Result<()> {
    let names = gels.iter().map(|gel| width(&gel.name));
    let name = names.max().unwrap_or(0).clamp("Gel".len(), 40);
    writeln!(out, "{:<name$}   mired      Duv  stops", "Gel")?;
    for gel in gels {
        writeln!(
            out,
            "{}  {:>6}  {:>7}  {:>5.1}",
            in_columns(&gel.name, name),
            signed(gel.mired, 0),
            signed(gel.duv, 4),
            gel.stops
        )?;
    }
    writeln!(out)?;
    let text = "Plus mired is more orange, minus is bluer; plus Duv is greener, minus more \
                magenta. The built-in figures are nominal: sheets that are sold under these names \
                differ from them. To measure one of your own, photograph the card in a lamp's \
                light without the gel and with it, and compare the two photos with mirecast \
                setups. To use your figures, write a copy with --write my-gels.toml, change it, \
                and compare with --gels my-gels.toml.";
    write_wrapped(out, "", "", text)?;
    writeln!(out, "\nTake care:")?;
    write_cautions(out, &GEL_CAUTIONS)
}

pub(super) fn write_cautions(out: &mut impl Write, cautions: &[impl AsRef<str>]) -> io::Result<()> {
    cautions
        .iter()
        .try_for_each(|caution| write_wrapped(out, "  - ", "    ", &sentence(caution.as_ref())))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::balance::GelTable;

    #[test]
    fn gels_are_listed_in_the_tables_order_with_cautions() {
        let text = "[\"my CTO\"]\nkind = \"temperature\"\nmired = 120\nduv = -0.002\nstops = 0.9\n\
                    [green]\nkind = \"green\"\nmired = 0\nduv = 0.01\ntransmission = 0.75\n";
        let table = GelTable::parse(text, "t").unwrap();
        let records: Vec<_> = table.gels().iter().map(GelRecord::from).collect();
        let mut out = Vec::new();
        write_gels_text(&mut out, &records).unwrap();
        insta::assert_snapshot!(String::from_utf8(out).unwrap(), @r"
        Gel      mired      Duv  stops
        my CTO    +120  -0.0020    0.9
        green        0  +0.0100    0.4

        Plus mired is more orange, minus is bluer; plus Duv is greener, minus more
        magenta. The built-in figures are nominal: sheets that are sold under these
        names differ from them. To measure one of your own, photograph the card in a
        lamp's light without the gel and with it, and compare the two photos with
        mirecast setups. To use your figures, write a copy with --write my-gels.toml,
        change it, and compare with --gels my-gels.toml.

        Take care:
          - Switch the lamp off and let it cool before you put a gel on or take it off.
          - Hold gels in a frame well away from the lamp and its vents; never wrap or
            tape them to a hot lamp.
          - Weigh down stands, secure what hangs overhead, and have a second person hold
            a ladder.
          - Leave mains wiring to a competent person. The maker's instructions for lamp
            and gel and your local codes come first.
        ");
    }
}
