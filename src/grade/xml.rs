//! What the two XML formats share.

use std::io;

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};

/// An XML writer into memory.
pub(super) type Xml = Writer<Vec<u8>>;

/// A document of one root element, which `root` writes.
pub(super) fn document(root: impl FnOnce(&mut Xml) -> io::Result<()>) -> io::Result<Vec<u8>> {
    let mut xml = Writer::new_with_indent(Vec::new(), b' ', 2);
    xml.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    root(&mut xml)?;
    let mut bytes = xml.into_inner();
    bytes.push(b'\n');
    Ok(bytes)
}

/// An element that holds only text.
pub(super) fn text_element(xml: &mut Xml, name: &str, text: &str) -> io::Result<()> {
    xml.create_element(name).write_text_content(BytesText::new(&characters(text)))?;
    Ok(())
}

/// An element of text for each line.
pub(super) fn text_elements(xml: &mut Xml, name: &str, lines: &[String]) -> io::Result<()> {
    lines.iter().try_for_each(|line| text_element(xml, name, line))
}

/// The text with what XML 1.0 does not allow, escaped or not, replaced by U+FFFD (production 2);
/// line ends and tabs become spaces.
pub(super) fn characters(text: &str) -> String {
    let allowed = |c: char| match c {
        '\t' | '\n' | '\r' => ' ',
        '\u{20}'..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'..='\u{10ffff}' => c,
        _ => '\u{fffd}',
    };
    text.chars().map(allowed).collect()
}

/// Numbers with so many decimals and spaces between.
pub(super) fn numbers(values: &[f64], decimals: usize) -> String {
    // Adding 0 takes the sign from a zero.
    let shown: Vec<_> = values.iter().map(|value| format!("{:.decimals$}", value + 0.0)).collect();
    shown.join(" ")
}

#[cfg(test)]
pub(super) mod tests {
    use quick_xml::events::Event;
    use quick_xml::{Reader, XmlVersion};

    use super::*;

    /// An element: its name, its attributes, its text and what is in it.
    #[derive(Debug, Default, PartialEq)]
    pub(crate) struct Element {
        pub(crate) name: String,
        pub(crate) attributes: Vec<(String, String)>,
        pub(crate) text: String,
        pub(crate) children: Vec<Element>,
    }

    impl Element {
        pub(crate) fn names(&self) -> Vec<&str> {
            self.children.iter().map(|child| child.name.as_str()).collect()
        }

        #[track_caller]
        pub(crate) fn child(&self, name: &str) -> &Element {
            self.children.iter().find(|child| child.name == name).unwrap()
        }

        #[track_caller]
        pub(crate) fn attribute(&self, name: &str) -> &str {
            &self.attributes.iter().find(|attribute| attribute.0 == name).unwrap().1
        }

        pub(crate) fn numbers(&self) -> Vec<f64> {
            self.text.split_ascii_whitespace().map(|number| number.parse().unwrap()).collect()
        }
    }

    /// Reads a document back.
    #[track_caller]
    pub(crate) fn parse(bytes: &[u8]) -> Element {
        let mut reader = Reader::from_reader(bytes);
        let mut open = vec![Element::default()];
        loop {
            let (start, ends) = match reader.read_event().unwrap() {
                Event::Start(start) => (start, false),
                Event::Empty(start) => (start, true),
                Event::Text(text) => {
                    let text = text.xml_content(XmlVersion::Explicit1_0);
                    open.last_mut().unwrap().text += text.trim();
                    continue;
                }
                Event::GeneralRef(entity) => {
                    let character = match &*entity {
                        "lt" => '<',
                        "gt" => '>',
                        "amp" => '&',
                        "quot" => '"',
                        "apos" => '\'',
                        other => panic!("unexpected &{other};"),
                    };
                    open.last_mut().unwrap().text.push(character);
                    continue;
                }
                Event::End(_) => {
                    let done = open.pop().unwrap();
                    open.last_mut().unwrap().children.push(done);
                    continue;
                }
                Event::Eof => break,
                _ => continue,
            };
            let name = start.name().as_ref().to_owned();
            let attributes = start.attributes().map(|attribute| {
                let attribute = attribute.unwrap();
                let key = attribute.key.as_ref().to_owned();
                (key, attribute.normalized_value(XmlVersion::Explicit1_0).unwrap().into_owned())
            });
            let element = Element { name, attributes: attributes.collect(), ..Element::default() };
            if ends {
                open.last_mut().unwrap().children.push(element);
            } else {
                open.push(element);
            }
        }
        assert_eq!(open.len(), 1, "an element is not closed");
        let mut roots = open.pop().unwrap().children;
        assert_eq!(roots.len(), 1);
        roots.pop().unwrap()
    }

    #[test]
    fn hostile_text_stays_text() {
        let text = "</Description><x a='1'>&amp;\u{1b}[2J\u{fffe}\n";
        let bytes = document(|xml| text_element(xml, "Description", text)).unwrap();
        let element = parse(&bytes);
        assert_eq!(element.children, []);
        assert_eq!(element.text, "</Description><x a='1'>&amp;\u{fffd}[2J\u{fffd}");
    }
}
