//! Common LUT Format files (Academy S-2014-006, version 3; SMPTE ST 2136-1).

use std::io;

use super::xml::{Xml, document, numbers, text_element, text_elements};
use super::{Footage, Plan};
use crate::colour::TransferCurve;

/// The namespace and the version that S-2014-006 gives for version 3. Every element used here is
/// one of ST 2136-1 too, which was made to take these files by another namespace alone; readers of
/// it know this one, and older readers know only this one.
const NAMESPACE: &str = "urn:AMPAS:CLF:v3.0";
const VERSION: &str = "3.0";

/// Decimals of the matrix: far finer than a reader's 32-bit floats.
const DECIMALS: usize = 12;

/// One correction as a Common LUT Format file: the footage's curve undone, one matrix, the curve
/// put back. Exact, and open at both ends: nothing is clipped.
///
/// # Errors
/// None that writing to memory could give.
pub fn clf_file(plan: &Plan) -> io::Result<Vec<u8>> {
    let matrix = plan.correction().matrix();
    document(|xml| {
        xml.create_element("ProcessList")
            .with_attribute(("xmlns", NAMESPACE))
            .with_attribute(("id", process_id(plan).as_str()))
            .with_attribute(("name", plan.id()))
            .with_attribute(("compCLFversion", VERSION))
            .write_inner_content(|xml| {
                text_elements(xml, "Description", plan.descriptions())?;
                text_element(xml, "InputDescriptor", &plan.footage().described())?;
                text_element(xml, "OutputDescriptor", &plan.footage().described())?;
                exponent(xml, plan.footage(), Way::ToLinear)?;
                element(xml, "Matrix").write_inner_content(|xml| {
                    array(xml, matrix.0.map(|row| numbers(&row, DECIMALS)))
                })?;
                exponent(xml, plan.footage(), Way::ToEncoded)
            })?;
        Ok(())
    })
}

/// One process node's element.
fn element<'a>(xml: &'a mut Xml, name: &'a str) -> quick_xml::writer::ElementWriter<'a, Vec<u8>> {
    xml.create_element(name)
        .with_attribute(("inBitDepth", "32f"))
        .with_attribute(("outBitDepth", "32f"))
}

fn array(xml: &mut Xml, rows: [String; 3]) -> io::Result<()> {
    let text = format!("\n{}\n", rows.join("\n"));
    xml.create_element("Array")
        .with_attribute(("dim", "3 3"))
        .write_text_content(quick_xml::events::BytesText::new(&text))?;
    Ok(())
}

#[derive(Debug, Clone, Copy)]
enum Way {
    ToLinear,
    ToEncoded,
}

/// The node of the footage's curve; none for linear footage. The monitor curve's line near black
/// meets its power smoothly, so it differs from the standards' rounded breakpoints by less than
/// 0.00002.
fn exponent(xml: &mut Xml, footage: Footage, way: Way) -> io::Result<()> {
    let (style, power, offset) = match footage.curve() {
        TransferCurve::Linear => return Ok(()),
        TransferCurve::Srgb => ("monCurve", 2.4, Some("0.055")),
        TransferCurve::Rec709 => ("monCurve", 1.0 / 0.45, Some("0.099")),
        // Mirrored about black as the monitor curve's line goes on below it.
        TransferCurve::Gamma(power) => ("basicMirror", power, None),
    };
    let style = format!(
        "{style}{}",
        match way {
            Way::ToLinear => "Fwd",
            Way::ToEncoded => "Rev",
        }
    );
    element(xml, "Exponent").with_attribute(("style", style.as_str())).write_inner_content(
        |xml| {
            let power = power.to_string();
            let parameters =
                xml.create_element("ExponentParams").with_attribute(("exponent", power.as_str()));
            let parameters = match offset {
                Some(offset) => parameters.with_attribute(("offset", offset)),
                None => parameters,
            };
            parameters.write_empty()?;
            Ok(())
        },
    )?;
    Ok(())
}

/// An id that is the same for the same correction and for no other: its name and a hash (FNV-1a,
/// 64 bits) of all that the file says.
fn process_id(plan: &Plan) -> String {
    let said = format!("{:?} {:?}", plan.correction(), plan.footage());
    let hash = plan
        .descriptions()
        .iter()
        .flat_map(|line| line.bytes())
        .chain(said.bytes())
        .fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
        });
    format!("mirecast-{}-{hash:016x}", plan.id())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grade::examples::{hostile, plan, plan_for};
    use crate::grade::xml::tests::{Element, parse};

    /// What the specification asks of a ProcessList and of the nodes used here.
    #[track_caller]
    fn assert_valid(root: &Element, nodes: &[&str]) {
        assert_eq!(root.name, "ProcessList");
        assert_eq!(root.attribute("compCLFversion"), "3.0");
        assert_eq!(root.attribute("xmlns"), "urn:AMPAS:CLF:v3.0");
        assert!(!root.attribute("id").is_empty());
        let names = root.names();
        let texts = names.iter().take_while(|name| **name == "Description").count();
        assert!(texts >= 3, "{names:?}");
        assert_eq!(names[texts..texts + 2], ["InputDescriptor", "OutputDescriptor"]);
        assert_eq!(names[texts + 2..], *nodes);
        for node in &root.children[texts + 2..] {
            assert_eq!([node.attribute("inBitDepth"), node.attribute("outBitDepth")], ["32f"; 2]);
        }
        let array = root.child("Matrix").child("Array");
        assert_eq!((array.attribute("dim"), array.numbers().len()), ("3 3", 9));
    }

    #[test]
    fn a_clf_has_what_the_specification_asks_for_in_its_order() {
        let plan = plan();
        let root = parse(&clf_file(&plan).unwrap());
        assert_valid(&root, &["Exponent", "Matrix", "Exponent"]);
        let [.., first, _, last] = root.children.as_slice() else { panic!("nodes") };
        assert_eq!(
            [first.attribute("style"), last.attribute("style")],
            ["monCurveFwd", "monCurveRev"]
        );
        let parameters = first.child("ExponentParams");
        assert_eq!(
            [parameters.attribute("exponent"), parameters.attribute("offset")],
            ["2.4", "0.055"]
        );
        let matrix = root.child("Matrix").child("Array").numbers();
        for (written, meant) in matrix.iter().zip(plan.correction().matrix().0.as_flattened()) {
            assert!((written - meant).abs() < 1e-11);
        }
    }

    #[test]
    fn each_encoding_has_its_curve() {
        let style = |name: &str| {
            let root = parse(&clf_file(&plan_for(name)).unwrap());
            let exponents: Vec<_> =
                root.children.iter().filter(|node| node.name == "Exponent").collect();
            exponents.first().map(|node| {
                let parameters = node.child("ExponentParams");
                let number = parameters.attribute("exponent").parse::<f64>().unwrap();
                (node.attribute("style").to_owned(), number)
            })
        };
        assert_eq!(style("rec709"), Some(("monCurveFwd".to_owned(), 1.0 / 0.45)));
        assert_eq!(style("gamma2.2"), Some(("basicMirrorFwd".to_owned(), 2.2)));
        assert_eq!(style("linear"), None);
        let linear = parse(&clf_file(&plan_for("linear")).unwrap());
        assert_valid(&linear, &["Matrix"]);
    }

    #[test]
    fn ids_differ_and_what_a_file_name_holds_stays_text() {
        let (one, other) = (clf_file(&plan()).unwrap(), clf_file(&hostile()).unwrap());
        let (one, other) = (parse(&one), parse(&other));
        assert_ne!(one.attribute("id"), other.attribute("id"));
        assert_valid(&other, &["Exponent", "Matrix", "Exponent"]);
        assert!(other.children.iter().any(|child| child.text.contains("<b>&\"'")));
    }
}
