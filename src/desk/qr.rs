//! An address as a QR code of characters.

use qrcode::render::unicode::Dense1x2;
use qrcode::{EcLevel, QrCode};

/// The code, two modules to a character, with the quiet zone that scanners need. `on_light` says
/// whether it stands on a light ground; where it does not, what is dark must be left out and what
/// is light drawn. `None` where the text is too long for one.
pub(crate) fn qr_code(text: &str, on_light: bool) -> Option<String> {
    let code = QrCode::with_error_correction_level(text, EcLevel::L).ok()?;
    let (dark, light) = match on_light {
        true => (Dense1x2::Dark, Dense1x2::Light),
        false => (Dense1x2::Light, Dense1x2::Dark),
    };
    Some(code.render::<Dense1x2>().dark_color(dark).light_color(light).quiet_zone(true).build())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_fits_the_page_and_both_grounds_are_each_others_negative() {
        let address = "http://192.168.100.200:65535/abcdefghjkmn/";
        let [light, dark] = [true, false].map(|ground| qr_code(address, ground).unwrap());
        assert!(light.lines().all(|line| line.chars().count() <= 45), "{light}");
        let negative = |c| match c {
            '█' => ' ',
            ' ' => '█',
            '▀' => '▄',
            '▄' => '▀',
            other => other,
        };
        // The last line has a row too many or none to fill it.
        let lines = light.lines().count() - 1;
        for (a, b) in light.lines().zip(dark.lines()).take(lines) {
            assert_eq!(a.chars().map(negative).collect::<String>(), b);
        }
        assert!(light.starts_with(' '), "the quiet zone is light");
        assert!(qr_code(&"x".repeat(9000), true).is_none());
    }
}
