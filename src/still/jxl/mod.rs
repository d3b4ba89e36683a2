//! JPEG XL (ISO/IEC 18181), by the decoder library `jxl-oxide`.

mod absolute;

use std::error::Error;

use image::{DynamicImage, ImageBuffer};
use jxl_oxide::image::BitDepth;
use jxl_oxide::image::color::{ColourEncoding, ColourSpace, TransferFunction};
use jxl_oxide::{
    AllocTracker, AuxBoxData, EnumColourEncoding, FrameBufferSample, InitializeResult, JxlImage,
    JxlThreadPool, PixelFormat, Render,
};

use absolute::Absolute;

use super::options::fits;
use super::picture::Picture;
use super::rows::Pixels;
use super::{Note, ReadErrorKind, ReadOptions};

type Failure = Box<dyn Error + Send + Sync>;

/// Decodes the first frame, upright: the orientation in the codestream is part of the picture, and
/// Exif's counts for nothing beside it.
pub(super) fn decode(
    bytes: &[u8],
    options: &ReadOptions,
) -> Result<Picture<'static>, ReadErrorKind> {
    let mut image = open(bytes, options)?;
    check(&image, options)?;
    image.finalize().map_err(damaged)?;
    if !image.is_loading_done() {
        return Err(ReadErrorKind::Truncated { source: None });
    }
    // Inks beside red, green and blue are for print.
    image.set_render_spot_color(false);
    let made_in = image.original_icc().map_or_else(|| image.rendered_icc(), <[u8]>::to_vec);
    let (pixels, icc) = match Absolute::of(&image, &made_in, options.max_icc_bytes) {
        Some(way) => {
            image.request_color_encoding(Absolute::asked_for());
            let pixels = way.pixels(&image.render_frame(0).map_err(damaged)?);
            let narrowed = |pixels| if is_wide(&image) { pixels } else { narrowed(pixels) };
            (pixels.map(narrowed), made_in)
        }
        None => {
            let render = image.render_frame(0).map_err(damaged)?;
            let pixels = as_rendered(&render, image.pixel_format(), is_wide(&image));
            // Samples are in the file's profile if they are as stored; others are in what the decoder chose.
            let chosen = image.image_header().metadata.xyb_encoded;
            (pixels, if chosen { image.rendered_icc() } else { made_in })
        }
    };
    let pixels = pixels.ok_or(ReadErrorKind::Damaged { source: None })?;
    let mut notes = Vec::new();
    let boxes = image.aux_boxes();
    let exif = match boxes.first_exif() {
        Ok(AuxBoxData::Data(exif)) => {
            exif.payload().get(exif.tiff_header_offset() as usize..).map(<[u8]>::to_vec)
        }
        Ok(_) => None,
        Err(error) => {
            notes.push(Note::BadExif { reason: error.to_string() });
            None
        }
    };
    let xmp = match boxes.first_xml() {
        AuxBoxData::Data(packet) => Some(packet.to_vec()),
        _ => None,
    };
    Ok(Picture { pixels: Pixels::Whole(pixels), icc: Some(icc), exif, xmp, notes })
}

/// The samples as the decoder gives them, in the layout that they have.
fn as_rendered(render: &Render, format: PixelFormat, wide: bool) -> Option<DynamicImage> {
    match format {
        PixelFormat::Gray if wide => of(render).map(DynamicImage::ImageLuma16),
        PixelFormat::Gray => of(render).map(DynamicImage::ImageLuma8),
        PixelFormat::Graya if wide => of(render).map(DynamicImage::ImageLumaA16),
        PixelFormat::Graya => of(render).map(DynamicImage::ImageLumaA8),
        PixelFormat::Rgba if wide => of(render).map(DynamicImage::ImageRgba16),
        PixelFormat::Rgba => of(render).map(DynamicImage::ImageRgba8),
        _ if wide => of(render).map(DynamicImage::ImageRgb16),
        _ => of(render).map(DynamicImage::ImageRgb8),
    }
}

fn narrowed(pixels: DynamicImage) -> DynamicImage {
    match pixels {
        DynamicImage::ImageRgba16(_) => pixels.into_rgba8().into(),
        other => other.into_rgb8().into(),
    }
}

/// Everything but the pixels.
fn open(bytes: &[u8], options: &ReadOptions) -> Result<JxlImage, ReadErrorKind> {
    let memory = usize::try_from(options.max_memory_bytes).unwrap_or(usize::MAX);
    let mut waiting = JxlImage::builder()
        // Several pictures are read at once as it is.
        .pool(JxlThreadPool::none())
        .alloc_tracker(AllocTracker::with_limit(memory))
        .build_uninit();
    let read = waiting.feed_bytes(bytes).map_err(damaged)?;
    let mut image = match waiting.try_init().map_err(damaged)? {
        InitializeResult::Initialized(image) => image,
        InitializeResult::NeedMoreData(_) => {
            return Err(ReadErrorKind::Truncated { source: None });
        }
    };
    // Boxes may come behind the picture.
    let rest = bytes.get(read..).unwrap_or_default();
    image.feed_bytes(rest).map_err(damaged)?;
    Ok(image)
}

/// Refuses what is not read, before anything of the picture's size is allocated.
fn check(image: &JxlImage, options: &ReadOptions) -> Result<(), ReadErrorKind> {
    let (width, height) = (image.width(), image.height());
    fits([width, height], options.max_pixels)?;
    let pixels = u64::from(width) * u64::from(height);
    if pixels == 0 {
        return Err(ReadErrorKind::Damaged { source: None });
    }
    let format = image.pixel_format();
    // The decoder works in 32 bits a channel and hands out as many at most, from which up to 16 are made.
    let needed = pixels * format.channels() as u64 * 10;
    if needed > options.max_memory_bytes {
        let source = format!("{needed} bytes are needed").into();
        return Err(ReadErrorKind::TooMuchMemory { source });
    }
    let unsupported =
        |found: &str| Err(ReadErrorKind::UnsupportedColour { found: found.to_owned() });
    if matches!(format, PixelFormat::Cmyk | PixelFormat::Cmyka) {
        return unsupported("CMYK");
    }
    if matches!(image.image_header().metadata.bit_depth, BitDepth::FloatSample { .. }) {
        return unsupported("floating-point numbers");
    }
    // The decoder makes a profile of what the file names, and panics where it names nothing.
    if let ColourEncoding::Enum(EnumColourEncoding { colour_space, tf, .. }) =
        &image.image_header().metadata.colour_encoding
        && (!matches!(colour_space, ColourSpace::Rgb | ColourSpace::Grey)
            || matches!(tf, TransferFunction::Unknown))
    {
        return unsupported("colours that it does not name");
    }
    // How bright a card is in such a picture depends on the screen that it was made for.
    if image.hdr_type().is_some() {
        return unsupported("high dynamic range (PQ or HLG)");
    }
    Ok(())
}

/// More than 8 bits a sample.
fn is_wide(image: &JxlImage) -> bool {
    image.image_header().metadata.bit_depth.bits_per_sample() > 8
}

/// The rendered samples as an image of their layout.
fn of<P>(render: &Render) -> Option<ImageBuffer<P, Vec<P::Subpixel>>>
where
    P: image::Pixel,
    P::Subpixel: FrameBufferSample + Default,
{
    let mut stream = render.stream();
    let (width, height) = (stream.width(), stream.height());
    if stream.channels() != u32::from(P::CHANNEL_COUNT) {
        return None;
    }
    let length = width as usize * height as usize * usize::from(P::CHANNEL_COUNT);
    let mut samples = vec![P::Subpixel::default(); length];
    stream.write_to_buffer(&mut samples);
    ImageBuffer::from_raw(width, height, samples)
}

fn damaged(failure: Failure) -> ReadErrorKind {
    // The library has no other sign for the limit that it was given.
    if failure.to_string().contains("failed to allocate") {
        return ReadErrorKind::TooMuchMemory { source: failure };
    }
    ReadErrorKind::Damaged { source: Some(failure) }
}
