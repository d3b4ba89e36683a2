//! ASC CDL files: `.cc` and `.ccc`.

use std::io;

use super::Plan;
use super::cdl::DECIMALS;
use super::xml::{Xml, document, numbers, text_element, text_elements};

/// The namespace of ASC CDL, release 1.2.
const NAMESPACE: &str = "urn:ASC:CDL:v1.2";

/// One correction as a Color Correction file (`.cc`).
///
/// # Errors
/// None that writing to memory could give.
pub fn cc_file(plan: &Plan) -> io::Result<Vec<u8>> {
    document(|xml| color_correction(xml, plan, true))
}

/// Corrections as a Color Correction Collection (`.ccc`).
///
/// # Errors
/// None that writing to memory could give.
pub fn ccc_file(plans: &[&Plan]) -> io::Result<Vec<u8>> {
    document(|xml| {
        xml.create_element("ColorCorrectionCollection")
            .with_attribute(("xmlns", NAMESPACE))
            .write_inner_content(|xml| {
                text_element(xml, "Description", &super::made_by())?;
                plans.iter().try_for_each(|plan| color_correction(xml, plan, false))
            })?;
        Ok(())
    })
}

/// The element, with its namespace where it is the root.
fn color_correction(xml: &mut Xml, plan: &Plan, is_root: bool) -> io::Result<()> {
    let element = xml.create_element("ColorCorrection");
    let element = if is_root { element.with_attribute(("xmlns", NAMESPACE)) } else { element };
    element.with_attribute(("id", plan.id())).write_inner_content(|xml| {
        text_elements(xml, "Description", plan.descriptions())?;
        text_element(xml, "Description", &plan.fit_in_words())?;
        text_element(xml, "InputDescription", &plan.footage().described())?;
        xml.create_element("SOPNode").write_inner_content(|xml| {
            let slope = plan.fit().cdl.slope();
            text_element(xml, "Slope", &numbers(&slope, DECIMALS))?;
            text_element(xml, "Offset", &numbers(&[0.0; 3], DECIMALS))?;
            text_element(xml, "Power", &numbers(&[1.0; 3], DECIMALS))
        })?;
        xml.create_element("SatNode").write_inner_content(|xml| {
            text_element(xml, "Saturation", &numbers(&[1.0], DECIMALS))
        })?;
        Ok(())
    })?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grade::examples::{hostile, plan};
    use crate::grade::xml::tests::{Element, parse};

    /// What the schema of ASC CDL v1.2 asks of a ColorCorrection.
    #[track_caller]
    fn assert_valid(correction: &Element) {
        assert_eq!(correction.name, "ColorCorrection");
        assert!(correction.attribute("id").starts_with(|c: char| c.is_alphabetic()));
        let names = correction.names();
        let texts = names.iter().take_while(|name| **name == "Description").count();
        assert!(texts >= 3, "{names:?}");
        assert_eq!(names[texts..], ["InputDescription", "SOPNode", "SatNode"]);
        let sop = correction.child("SOPNode");
        assert_eq!(sop.names(), ["Slope", "Offset", "Power"]);
        for node in &sop.children {
            assert_eq!(node.numbers().len(), 3, "{node:?}");
        }
        assert!(sop.child("Slope").numbers().iter().all(|slope| *slope >= 0.0));
        assert!(sop.child("Power").numbers().iter().all(|power| *power > 0.0));
        assert_eq!(correction.child("SatNode").child("Saturation").numbers(), [1.0]);
    }

    #[test]
    fn a_cc_has_what_the_schema_asks_for_in_its_order() {
        let plan = plan();
        let root = parse(&cc_file(&plan).unwrap());
        assert_eq!(root.attribute("xmlns"), "urn:ASC:CDL:v1.2");
        assert_eq!(root.attribute("id"), "group-2");
        assert_valid(&root);
        assert_eq!(root.child("SOPNode").child("Slope").numbers(), plan.fit().cdl.slope());
    }

    #[test]
    fn a_ccc_holds_them_all() {
        let plans = [plan(), hostile()];
        let root = parse(&ccc_file(&plans.iter().collect::<Vec<_>>()).unwrap());
        assert_eq!(root.name, "ColorCorrectionCollection");
        assert_eq!(root.attribute("xmlns"), "urn:ASC:CDL:v1.2");
        assert_eq!(root.names(), ["Description", "ColorCorrection", "ColorCorrection"]);
        root.children.iter().skip(1).for_each(assert_valid);
    }

    #[test]
    fn what_a_file_name_holds_stays_text() {
        let root = parse(&cc_file(&hostile()).unwrap());
        assert_valid(&root);
        let said: Vec<_> = root.children.iter().map(|child| child.text.as_str()).collect();
        assert!(said.iter().any(|text| text.contains("<b>&\"'")), "{said:?}");
    }
}
