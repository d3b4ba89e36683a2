//! Absolute colours (XYB), as lossy pictures hold them, into the encoding that the picture was made in.
//!
//! The decoder leads them to the primaries of sRGB first, and into others from there; colours that sRGB
//! does not reach are cut off on that way. So it is asked for linear sRGB alone, whose numbers may lie
//! below 0, and the rest of the way is gone here.

use image::{DynamicImage, ImageBuffer};
use jxl_oxide::image::color::ColourEncoding;
use jxl_oxide::{EnumColourEncoding, JxlImage, Render, RenderingIntent};

use super::super::{Transfer, profile};
use crate::colour::illuminants::ENCODING_D65;
use crate::colour::{Matrix3, srgb};

/// The way from linear sRGB into another encoding.
pub(super) struct Absolute {
    from_srgb: Matrix3,
    transfer: Transfer,
}

impl Absolute {
    /// The way into the encoding of `icc`, where the picture needs one and the profile leads both ways.
    pub(super) fn of(image: &JxlImage, icc: &[u8], limit: usize) -> Option<Self> {
        let metadata = &image.image_header().metadata;
        let reaches = |encoding: &ColourEncoding| match encoding {
            ColourEncoding::Enum(encoding) => encoding.is_srgb_gamut(),
            ColourEncoding::IccProfile(_) => false,
        };
        if !metadata.xyb_encoded || metadata.grayscale() || reaches(&metadata.colour_encoding) {
            return None;
        }
        let encoding = profile::interpret(icc, false, limit).ok()?.encoding;
        if matches!(encoding.transfer, Transfer::Converted) {
            return None;
        }
        let adapted = profile::bradford(ENCODING_D65.to_xyz().into(), encoding.white_xyz)?;
        let from_srgb = Matrix3(encoding.to_xyz).inverse()? * adapted * srgb::TO_XYZ;
        Some(Self { from_srgb, transfer: encoding.transfer })
    }

    /// What the decoder is to be asked for.
    pub(super) fn asked_for() -> EnumColourEncoding {
        EnumColourEncoding::srgb_linear(RenderingIntent::Relative)
    }

    /// The picture in that encoding, in 16 bits, from what was asked for.
    pub(super) fn pixels(&self, render: &Render) -> Option<DynamicImage> {
        let mut stream = render.stream();
        let (width, height, channels) = (stream.width(), stream.height(), stream.channels());
        let mut samples = vec![0_f32; width as usize * height as usize * channels as usize];
        stream.write_to_buffer(&mut samples);
        let code = |value: f64| (value * 65_535.0).round() as u16;
        let mut codes = Vec::with_capacity(samples.len());
        for pixel in samples.chunks_exact(channels as usize) {
            let (colour, alpha) = pixel.split_first_chunk::<3>()?;
            let linear = self.from_srgb.apply(colour.map(f64::from));
            for (channel, light) in linear.into_iter().enumerate() {
                codes.push(code(self.transfer.to_encoded(channel, light)));
            }
            codes.extend(alpha.iter().map(|alpha| code(f64::from(alpha.clamp(0.0, 1.0)))));
        }
        match channels {
            3 => ImageBuffer::from_raw(width, height, codes).map(DynamicImage::ImageRgb16),
            4 => ImageBuffer::from_raw(width, height, codes).map(DynamicImage::ImageRgba16),
            _ => None,
        }
    }
}
