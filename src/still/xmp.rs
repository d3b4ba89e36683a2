//! What XMP (ISO 16684-1) says about the balance: the properties of its Exif namespace that mirror
//! Exif's own fields. Properties of any maker's namespace are left alone.

use quick_xml::NsReader;
use quick_xml::XmlVersion;
use quick_xml::events::Event;
use quick_xml::name::{Namespace, ResolveResult};

use super::guard::guarded;
use super::sniff::PictureFormat;
use super::tiff;

/// What an XMP packet says about how a picture was taken.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
#[non_exhaustive]
pub struct XmpShot {
    /// `exif:LightSource`, as Exif numbers it.
    pub light_source: Option<u16>,
    /// `exif:WhiteBalance`: whether the camera set its balance itself.
    pub white_balance_auto: Option<bool>,
    /// `exif:DateTimeOriginal` to the second: `YYYY-MM-DDTHH:MM:SS`.
    pub taken: Option<String>,
}

/// A packet larger than this is left alone; those that programs write have a few kilobytes.
pub(super) const MOST_BYTES: usize = 4 << 20;

/// More attributes than this no element has in any schema; each is compared with all before it.
const MOST_ATTRIBUTES: usize = 1000;
/// Declarations of namespaces in a packet; those that programs write have some dozens.
const MOST_NAMESPACES: usize = 1000;

const EXIF: &str = "http://ns.adobe.com/exif/1.0/";

/// The packet embedded in a picture (ISO 16684-3), if there is one.
pub(super) fn embedded(bytes: &[u8], format: PictureFormat) -> Option<&[u8]> {
    match format {
        PictureFormat::Jpeg => in_jpeg(bytes),
        PictureFormat::Png => in_png(bytes),
        PictureFormat::WebP => in_webp(bytes),
        PictureFormat::Tiff => tiff::xmp(bytes),
        // It may be compressed there: its decoder hands it out.
        #[cfg(feature = "jpeg-xl")]
        PictureFormat::JpegXl => None,
    }
}

fn in_jpeg(bytes: &[u8]) -> Option<&[u8]> {
    let mut rest = bytes.get(2..)?;
    loop {
        let [0xFF, marker, after @ ..] = rest else { return None };
        // The picture itself has begun.
        if *marker == 0xDA {
            return None;
        }
        let (length, _) = after.split_first_chunk::<2>()?;
        let length = usize::from(u16::from_be_bytes(*length));
        let body = after.get(2..length)?;
        if let Some(packet) = body.strip_prefix(b"http://ns.adobe.com/xap/1.0/\0")
            && *marker == 0xE1
        {
            return Some(packet);
        }
        rest = after.get(length..)?;
    }
}

fn in_png(bytes: &[u8]) -> Option<&[u8]> {
    let mut rest = bytes.get(8..)?;
    while let Some((length, after)) = rest.split_first_chunk::<4>() {
        let length = u32::from_be_bytes(*length) as usize;
        let body = after.get(4..length.checked_add(4)?)?;
        if after.starts_with(b"iTXt")
            // Not compressed; no language and no translated keyword.
            && let Some(text) = body.strip_prefix(b"XML:com.adobe.xmp\0\0\0")
        {
            return text.splitn(3, |byte| *byte == 0).nth(2);
        }
        // A checksum follows.
        rest = after.get(length.checked_add(8)?..)?;
    }
    None
}

fn in_webp(bytes: &[u8]) -> Option<&[u8]> {
    let mut rest = bytes.get(12..)?;
    while let Some((length, after)) = rest.get(4..)?.split_first_chunk::<4>() {
        let length = u32::from_le_bytes(*length) as usize;
        if rest.starts_with(b"XMP ") {
            return after.get(..length);
        }
        rest = after.get(length.checked_next_multiple_of(2)?..)?;
    }
    None
}

/// Reads a packet, from wherever it is; what is wrong with it as an error.
pub(super) fn read(packet: &[u8]) -> Result<XmpShot, String> {
    if packet.len() > MOST_BYTES {
        return Err("it is too large".to_owned());
    }
    guarded(|| parse(packet)).unwrap_or_else(|| Err("it could not be read".to_owned()))
}

fn parse(packet: &[u8]) -> Result<XmpShot, String> {
    let text = std::str::from_utf8(packet).map_err(|_| "it is not UTF-8 text".to_owned())?;
    // Some writers pad the packet with zeros.
    let mut reader = NsReader::from_str(text.trim_end_matches('\0'));
    let mut found = XmpShot::default();
    let mut property: Option<String> = None;
    let mut namespaces = 0;
    loop {
        let event = reader.read_event().map_err(|error| error.to_string())?;
        match event {
            Event::Start(ref element) | Event::Empty(ref element) => {
                for (n, attribute) in element.attributes().enumerate() {
                    if n >= MOST_ATTRIBUTES {
                        return Err("an element has too many attributes".to_owned());
                    }
                    let attribute = attribute.map_err(|error| error.to_string())?;
                    // All that are in force are looked through for each name.
                    namespaces += usize::from(attribute.key.as_namespace_binding().is_some());
                    if namespaces > MOST_NAMESPACES {
                        return Err("it declares too many namespaces".to_owned());
                    }
                    let (namespace, name) = reader.resolver().resolve_attribute(attribute.key);
                    if is_exif(&namespace) {
                        let value = attribute.normalized_value(XmlVersion::Implicit1_0);
                        let value = value.map_err(|error| error.to_string())?;
                        found.take(name.as_ref(), &value);
                    }
                }
                let (namespace, name) = reader.resolver().resolve_element(element.name());
                let opens = matches!(event, Event::Start(_)) && is_exif(&namespace);
                property = opens.then(|| name.as_ref().to_owned());
            }
            Event::Text(text) => {
                if let Some(name) = &property {
                    found.take(name, &text.xml10_content());
                }
            }
            Event::End(_) => property = None,
            Event::Eof => return Ok(found),
            _ => {}
        }
    }
}

fn is_exif(namespace: &ResolveResult) -> bool {
    *namespace == ResolveResult::Bound(Namespace(EXIF))
}

impl XmpShot {
    /// The first value counts.
    fn take(&mut self, property: &str, value: &str) {
        let value = value.trim();
        match property {
            "LightSource" if self.light_source.is_none() => self.light_source = value.parse().ok(),
            "WhiteBalance" if self.white_balance_auto.is_none() => {
                self.white_balance_auto = match value {
                    "0" => Some(true),
                    "1" => Some(false),
                    _ => None,
                };
            }
            "DateTimeOriginal" if self.taken.is_none() => {
                let second = value.get(..19);
                self.taken = second.filter(|text| is_date_and_time(text)).map(str::to_owned);
            }
            _ => {}
        }
    }
}

/// `YYYY-MM-DDTHH:MM:SS`.
fn is_date_and_time(text: &str) -> bool {
    let pattern = "dddd-dd-ddTdd:dd:dd";
    text.len() == pattern.len()
        && text.chars().zip(pattern.chars()).all(|(found, wanted)| match wanted {
            'd' => found.is_ascii_digit(),
            wanted => found == wanted,
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn packet(inside: &str) -> String {
        format!(
            "<?xpacket begin='\u{feff}' id='W5M0MpCehiHzreSzNTczkc9d'?>\
             <x:xmpmeta xmlns:x='adobe:ns:meta/'>\
             <rdf:RDF xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'>{inside}</rdf:RDF>\
             </x:xmpmeta><?xpacket end='w'?>\0\0"
        )
    }

    #[test]
    fn attributes_and_elements_count_alike_whatever_their_prefix() {
        let wanted = XmpShot {
            light_source: Some(3),
            white_balance_auto: Some(false),
            taken: Some("2024-03-12T18:41:05".to_owned()),
        };
        let attributes = "<rdf:Description xmlns:e='http://ns.adobe.com/exif/1.0/' e:LightSource='3' \
                          e:WhiteBalance='1' e:DateTimeOriginal='2024-03-12T18:41:05.20+01:00'/>";
        assert_eq!(parse(packet(attributes).as_bytes()), Ok(wanted.clone()));
        let elements = "<rdf:Description xmlns:exif='http://ns.adobe.com/exif/1.0/'>\
                        <exif:LightSource> 3 </exif:LightSource><exif:WhiteBalance>1</exif:WhiteBalance>\
                        <exif:DateTimeOriginal>2024-03-12T18:41:05</exif:DateTimeOriginal>\
                        </rdf:Description>";
        assert_eq!(parse(packet(elements).as_bytes()), Ok(wanted));
    }

    #[test]
    fn other_namespaces_and_nonsense_say_nothing() {
        for inside in [
            "<rdf:Description xmlns:exif='http://example.org/' exif:LightSource='3'/>",
            "<rdf:Description xmlns:exif='http://ns.adobe.com/exif/1.0/' exif:LightSource='warm'/>",
            "<rdf:Description xmlns:exif='http://ns.adobe.com/exif/1.0/' exif:WhiteBalance='2'/>",
            "<exif:LightSource>3</exif:LightSource>",
        ] {
            assert_eq!(parse(packet(inside).as_bytes()), Ok(XmpShot::default()), "{inside}");
        }
    }

    #[test]
    fn broken_packets_are_errors_and_never_panics() {
        let whole = packet(
            "<rdf:Description xmlns:exif='http://ns.adobe.com/exif/1.0/' exif:LightSource='3'/>",
        );
        for cut in 0..whole.len() {
            let _ = parse(&whole.as_bytes()[..cut]);
        }
        assert!(parse(b"<a b=c d></a>").is_err());
        assert!(parse(b"<a></b>").is_err());
        assert!(parse(&[0xFF, 0xFE, b'<', 0]).is_err());
        assert!(read(&vec![b' '; MOST_BYTES + 1]).is_err());
    }

    #[test]
    fn entities_are_not_blown_up() {
        let bomb = "<!DOCTYPE a [<!ENTITY b 'bbbbbbbb'><!ENTITY c '&b;&b;&b;'>]>\
                    <a xmlns:exif='http://ns.adobe.com/exif/1.0/' exif:LightSource='&c;'>&c;</a>";
        assert!(parse(bomb.as_bytes()).is_err());
    }

    /// Each would keep the parser busy for minutes: names are compared with all before them.
    #[test]
    fn packets_of_a_great_many_names_are_refused_soon() {
        let many = |item: &dyn Fn(usize) -> String| (0..150_000).map(item).collect::<String>();
        for packet in [
            format!("<a {}/>", many(&|n| format!("b{n}='' "))),
            format!("<a {}/>", many(&|n| format!("xmlns:b{n}='c' "))),
            format!("<a>{}", many(&|n| format!("<b xmlns:c{n}='d'>"))),
        ] {
            assert!(packet.len() < MOST_BYTES);
            let started = std::time::Instant::now();
            assert!(read(packet.as_bytes()).is_err(), "{}", &packet[..20]);
            assert!(started.elapsed().as_secs() < 30, "{}", &packet[..20]);
        }
    }

    #[test]
    fn packets_are_found_in_every_container_and_nowhere_else() {
        let found = |bytes: &[u8], format| embedded(bytes, format).map(<[u8]>::to_vec);
        let jpeg = [
            &b"\xFF\xD8\xFF\xE0\0\x04ab\xFF\xE1\0\x23http://ns.adobe.com/xap/1.0/\0<x/>"[..],
            b"\xFF\xDA\0\x02",
        ]
        .concat();
        assert_eq!(found(&jpeg, PictureFormat::Jpeg).as_deref(), Some(&b"<x/>"[..]));
        let png = b"\x89PNG\r\n\x1A\n\0\0\0\x01tEXta....\0\0\0\x1AiTXtXML:com.adobe.xmp\0\0\0\0\0<x/>....";
        assert_eq!(found(png, PictureFormat::Png).as_deref(), Some(&b"<x/>"[..]));
        let webp = b"RIFF\0\0\0\0WEBPEXIF\x01\0\0\0a\0XMP \x04\0\0\0<x/>";
        assert_eq!(found(webp, PictureFormat::WebP).as_deref(), Some(&b"<x/>"[..]));
        for (whole, format) in [
            (&jpeg[..], PictureFormat::Jpeg),
            (png, PictureFormat::Png),
            (webp, PictureFormat::WebP),
        ] {
            for cut in 0..whole.len() {
                let _ = embedded(&whole[..cut], format);
            }
        }
    }
}
