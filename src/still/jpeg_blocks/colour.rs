//! What a JPEG's components stand for, and their conversion to RGB.

use super::frame::Frame;

/// What the components stand for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ColourModel {
    /// One component: luma.
    Grey,
    /// Luma and two colour differences, full range (ITU-T T.871).
    YCbCr,
    /// Red, green and blue as they are.
    Rgb,
}

/// What the application segments say about colour.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct ColourMarkers {
    /// The file is marked as JFIF, which has no RGB.
    pub(super) is_jfif: bool,
    /// The transform named in an APP14 segment of the usual kind: 0 none, 1 YCbCr.
    pub(super) app14_transform: Option<u8>,
}

impl ColourMarkers {
    /// Takes note of an APP0 segment. One that is too short to be JFIF's is something else.
    pub(super) fn app0(&mut self, contents: &[u8]) {
        self.is_jfif |= contents.len() >= 14 && contents.starts_with(b"JFIF\0");
    }

    /// Takes note of an APP14 segment: "Adobe", a version, two words of flags, the transform.
    pub(super) fn app14(&mut self, contents: &[u8]) {
        if contents.starts_with(b"Adobe")
            && let Some(transform) = contents.get(11)
        {
            self.app14_transform = Some(*transform);
        }
    }

    /// What a frame's components stand for.
    pub(super) fn model(self, frame: &Frame) -> ColourModel {
        match frame.components.as_slice() {
            [first, second, third] => {
                self.three_components([first, second, third].map(|c| c.identifier))
            }
            _ => ColourModel::Grey,
        }
    }

    /// What three components with these identifiers stand for. No field says so; the order of precedence is
    /// the one that decoders have come to share: JFIF, then APP14, then the letters R, G, B as identifiers.
    fn three_components(self, identifiers: [u8; 3]) -> ColourModel {
        let is_rgb = match (self.is_jfif, self.app14_transform) {
            (true, _) => false,
            (false, Some(transform)) => transform == 0,
            (false, None) => identifiers == *b"RGB",
        };
        if is_rgb { ColourModel::Rgb } else { ColourModel::YCbCr }
    }
}

/// RGB of luma and colour differences, all on the scale 0–255 with neutral at 128: ITU-T T.871, clause 7,
/// with the ratios that its rounded factors come from (ITU-R BT.601: red 0.299, blue 0.114 of luma).
pub(super) fn rgb_from_ycbcr([luma, blue, red]: [f64; 3]) -> [f64; 3] {
    const RED: f64 = 0.299;
    const BLUE: f64 = 0.114;
    const GREEN: f64 = 1.0 - RED - BLUE;
    let red = 2.0 * (1.0 - RED) * (red - 128.0);
    let blue = 2.0 * (1.0 - BLUE) * (blue - 128.0);
    [luma + red, luma - (RED * red + BLUE * blue) / GREEN, luma + blue]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn conversion_undoes_the_equations_of_t871() {
        for rgb in [[0.0, 0.0, 0.0], [255.0, 255.0, 255.0], [200.0, 40.0, 90.0], [3.5, 250.25, 7.0]]
        {
            let [red, green, blue] = rgb;
            let luma = 0.299 * red + 0.587 * green + 0.114 * blue;
            let ycbcr = [luma, (blue - luma) / 1.772 + 128.0, (red - luma) / 1.402 + 128.0];
            for (found, expected) in rgb_from_ycbcr(ycbcr).into_iter().zip(rgb) {
                assert!((found - expected).abs() < 1e-9, "{found} {expected}");
            }
        }
    }

    #[test]
    fn precedence_of_the_colour_markers() {
        let model = |is_jfif, app14_transform, identifiers: &[u8; 3]| {
            ColourMarkers { is_jfif, app14_transform }.three_components(*identifiers)
        };
        assert_eq!(model(false, None, &[1, 2, 3]), ColourModel::YCbCr);
        assert_eq!(model(false, None, &[0, 1, 2]), ColourModel::YCbCr);
        assert_eq!(model(false, None, b"RGB"), ColourModel::Rgb);
        assert_eq!(model(true, None, b"RGB"), ColourModel::YCbCr);
        assert_eq!(model(false, Some(1), b"RGB"), ColourModel::YCbCr);
        assert_eq!(model(false, Some(0), &[1, 2, 3]), ColourModel::Rgb);
        assert_eq!(model(true, Some(0), &[1, 2, 3]), ColourModel::YCbCr);
    }

    #[test]
    fn segments_too_short_say_nothing() {
        let mut markers = ColourMarkers::default();
        markers.app0(b"JFIF\0\x01\x02");
        markers.app0(b"JFXX\0\x10________");
        markers.app14(b"Adobe\0\x64\0\0\0\0");
        assert_eq!(markers, ColourMarkers::default());
        markers.app0(b"JFIF\0\x01\x02\0\0\x01\0\x01\0\0");
        markers.app14(b"Adobe\0\x64\0\0\0\0\0");
        assert_eq!(markers, ColourMarkers { is_jfif: true, app14_transform: Some(0) });
    }
}
