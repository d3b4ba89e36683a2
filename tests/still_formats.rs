//! Every format, depth and layout that is read, and what the grid says about it.

mod still_common;
#[cfg(feature = "jpeg-xl")]
mod still_jpeg_xl;

use image::{DynamicImage, ImageBuffer, ImageFormat, Luma, LumaA, Rgb, RgbImage, Rgba, RgbaImage};
use mirecast::still::{EncodingSource, ReadOptions, Transfer, read_bytes};
use still_common::{Extras, assert_close, busy, encode, exif_block, flat, srgb_to_linear, still};

use ImageFormat::{Jpeg, Png, Tiff, WebP};

#[test]
fn every_format_depth_and_layout() {
    let [r, g, b] = [200u8, 120, 40];
    let wide = |v: u8| u16::from(v) * 257;
    let rgb16 = Rgb([wide(r), wide(g), wide(b)]);
    let rgba16 = Rgba([wide(r), wide(g), wide(b), 65_535]);
    let size = (37, 23);
    let of = |image: DynamicImage| image;
    let colour: [(DynamicImage, u8, &[ImageFormat]); 4] = [
        (flat(size.0, size.1, [r, g, b]), 8, &[Jpeg, Png, Tiff, WebP]),
        (
            of(RgbaImage::from_pixel(size.0, size.1, Rgba([r, g, b, 255])).into()),
            8,
            &[Png, Tiff, WebP],
        ),
        (of(ImageBuffer::from_pixel(size.0, size.1, rgb16).into()), 16, &[Png, Tiff]),
        (of(ImageBuffer::from_pixel(size.0, size.1, rgba16).into()), 16, &[Png, Tiff]),
    ];
    let grey: [(DynamicImage, u8, &[ImageFormat]); 4] = [
        (of(ImageBuffer::from_pixel(size.0, size.1, Luma([g])).into()), 8, &[Jpeg, Png, Tiff]),
        (of(ImageBuffer::from_pixel(size.0, size.1, LumaA([g, 255])).into()), 8, &[Png]),
        (of(ImageBuffer::from_pixel(size.0, size.1, Luma([wide(g)])).into()), 16, &[Png, Tiff]),
        (of(ImageBuffer::from_pixel(size.0, size.1, LumaA([wide(g), 65_535])).into()), 16, &[Png]),
    ];
    let mut read = 0;
    for (images, expected, is_grey) in [(colour, [r, g, b], false), (grey, [g, g, g], true)] {
        for (image, bits, formats) in images {
            for format in formats {
                let what = format!("{format:?} {:?}", image.color());
                let found = still(&encode(&image, *format, Extras::default()));
                let frame = found.frame;
                assert_eq!((frame.width, frame.height, frame.bits), (37, 23, bits), "{what}");
                assert_eq!((frame.cell, frame.columns, frame.rows), (1, 37, 23), "{what}");
                assert_eq!(frame.cells.len(), 37 * 23, "{what}");
                assert_eq!(frame.encoding.name, "sRGB", "{what}");
                assert_eq!(frame.encoding.source, EncodingSource::Assumed, "{what}");
                assert_eq!(frame.encoding.transfer, Transfer::Srgb, "{what}");
                let grey_noted = found.shot.notes.iter().any(|note| note.code() == "grey");
                assert_eq!(grey_noted, is_grey, "{what}");
                // A JPEG rounds in another colour space: one code off.
                let tolerance = if *format == Jpeg { 0.007 } else { 1e-6 };
                for cell in &frame.cells {
                    for (got, code) in cell.mean.iter().zip(expected) {
                        let want = srgb_to_linear(f64::from(code) / 255.0);
                        assert_close(f64::from(*got), want, tolerance, &what);
                    }
                    assert_close(f64::from(cell.weight), 1.0, 0.0, &what);
                    assert_close(f64::from(cell.spread), 0.0, 0.0, &what);
                }
                read += 1;
            }
        }
    }
    assert_eq!(read, 11 + 7);
}

#[test]
fn lossy_webp_and_progressive_jpeg() {
    // Both hold the gradient R = 40 + 3 x, G = 40 + 3 y over 64 × 64 pixels, coarsely compressed.
    for bytes in
        [&include_bytes!("data/still/lossy.webp")[..], include_bytes!("data/still/progressive.jpg")]
    {
        let frame = still(bytes).frame;
        assert_eq!((frame.width, frame.height), (64, 64));
        let cell = frame.get(50, 10).expect("inside");
        assert_close(f64::from(cell.mean[0]), srgb_to_linear(190.0 / 255.0), 0.06, "red");
        assert_close(f64::from(cell.mean[1]), srgb_to_linear(70.0 / 255.0), 0.04, "green");
    }
}

#[test]
fn means_are_taken_in_linear_light_and_edges_hold_what_there_is() {
    // 10 × 5 pixels in cells of 4: the last column has 2 pixels a row, the last row 1.
    let image = RgbImage::from_fn(10, 5, |x, y| {
        if (x + y) % 2 == 0 { Rgb([200, 100, 50]) } else { Rgb([100, 100, 150]) }
    });
    let mut options = ReadOptions::default();
    options.long_side_cells = 3;
    let bytes = encode(&image.into(), Png, Extras::default());
    let frame = read_bytes(&bytes, &options).expect("reads").frame;
    assert_eq!((frame.cell, frame.columns, frame.rows), (4, 3, 2));
    let linear = |code: f64| srgb_to_linear(code / 255.0);
    let cell = frame.get(2, 1).expect("the corner");
    assert_close(f64::from(cell.mean[0]), (linear(200.0) + linear(100.0)) / 2.0, 1e-6, "red");
    assert_close(f64::from(cell.mean[1]), linear(100.0), 1e-6, "green");
    assert_close(f64::from(cell.mean[2]), (linear(50.0) + linear(150.0)) / 2.0, 1e-6, "blue");
    // The signal (R + 2 G + B) / 4 is 112.5 and 112.5: no spread although the colours differ.
    assert_close(f64::from(cell.spread), 0.0, 1e-7, "spread");
    assert_eq!(frame.get(3, 0), None);
    assert_eq!(frame.get(0, 2), None);
}

#[test]
fn spread_is_the_standard_deviation_of_the_encoded_signal() {
    for wide in [false, true] {
        let level = |x: u32| if x.is_multiple_of(2) { 100u8 } else { 140 };
        let image: DynamicImage = if wide {
            ImageBuffer::from_fn(8, 8, |x, _| Luma([u16::from(level(x)) * 257])).into()
        } else {
            ImageBuffer::from_fn(8, 8, |x, _| Luma([level(x)])).into()
        };
        let mut options = ReadOptions::default();
        options.long_side_cells = 0; // taken as one cell
        let frame =
            read_bytes(&encode(&image, Png, Extras::default()), &options).expect("reads").frame;
        assert_eq!(frame.cells.len(), 1);
        assert_close(f64::from(frame.cells[0].spread), 20.0 / 255.0, 1e-6, "spread");
    }
}

#[test]
fn clipped_black_and_transparent_pixels_are_counted() {
    // One row of eight pixels in one cell; the last two are transparent and would be clipped.
    let pixels: [[u8; 4]; 8] = [
        [253, 10, 10, 255],
        [252, 10, 10, 128],
        [255, 255, 255, 255],
        [1, 100, 100, 255],
        [0, 0, 0, 200],
        [2, 100, 100, 255],
        [255, 255, 255, 127],
        [255, 255, 255, 0],
    ];
    let narrow = RgbaImage::from_fn(8, 1, |x, _| Rgba(pixels[x as usize]));
    let deep: ImageBuffer<Rgba<u16>, Vec<u16>> = ImageBuffer::from_fn(8, 1, |x, _| {
        Rgba(pixels[x as usize].map(|code| u16::from(code) * 257))
    });
    let mut options = ReadOptions::default();
    options.long_side_cells = 1;
    for image in [DynamicImage::from(narrow), deep.into()] {
        let bytes = encode(&image, Png, Extras::default());
        let cell = read_bytes(&bytes, &options).expect("reads").frame.cells[0];
        assert_close(f64::from(cell.weight), 6.0 / 8.0, 1e-7, "weight");
        assert_close(f64::from(cell.clipped), 2.0 / 6.0, 1e-7, "clipped");
        let channels = cell.clipped_channels.map(f64::from);
        assert_close(channels[0], 2.0 / 6.0, 1e-7, "clipped red");
        assert_close(channels[1], 1.0 / 6.0, 1e-7, "clipped green");
        assert_close(f64::from(cell.black), 2.0 / 6.0, 1e-7, "black");
    }
    let clear: DynamicImage = RgbaImage::from_pixel(3, 3, Rgba([9, 9, 9, 0])).into();
    let frame = still(&encode(&clear, Png, Extras::default())).frame;
    assert!(frame.cells.iter().all(|cell| cell.weight == 0.0 && cell.mean == [0.0; 3]));
}

#[test]
fn one_pixel_is_one_cell() {
    let frame = still(&encode(&flat(1, 1, [10, 20, 30]), Png, Extras::default())).frame;
    assert_eq!((frame.columns, frame.rows, frame.cells.len()), (1, 1, 1));
}

#[test]
fn long_pictures_stay_within_the_cell_count() {
    for (width, height) in [(4000, 3), (3, 4000), (385, 385), (384, 1), (767, 768)] {
        let frame = still(&encode(&flat(width, height, [90; 3]), Png, Extras::default())).frame;
        assert!(frame.columns.max(frame.rows) <= 384, "{width} × {height}");
        assert!(frame.columns * frame.cell >= width && (frame.columns - 1) * frame.cell < width);
        assert!(frame.rows * frame.cell >= height && (frame.rows - 1) * frame.cell < height);
        assert_eq!(frame.cells.len(), (frame.columns * frame.rows) as usize);
        assert!(frame.cells.iter().all(|cell| cell.weight == 1.0));
    }
}

/// The stored form of an upright picture under an Exif orientation, by the standard's wording: where the
/// stored row 0 and column 0 lie in the upright picture.
fn stored(upright: &RgbImage, orientation: u8) -> RgbImage {
    let (w, h) = upright.dimensions();
    let at = |x, y| *upright.get_pixel(x, y);
    match orientation {
        1 => upright.clone(),
        2 => RgbImage::from_fn(w, h, |x, y| at(w - 1 - x, y)),
        3 => RgbImage::from_fn(w, h, |x, y| at(w - 1 - x, h - 1 - y)),
        4 => RgbImage::from_fn(w, h, |x, y| at(x, h - 1 - y)),
        5 => RgbImage::from_fn(h, w, |x, y| at(y, x)),
        6 => RgbImage::from_fn(h, w, |x, y| at(w - 1 - y, x)),
        7 => RgbImage::from_fn(h, w, |x, y| at(w - 1 - y, h - 1 - x)),
        8 => RgbImage::from_fn(h, w, |x, y| at(y, h - 1 - x)),
        other => panic!("no orientation {other}"),
    }
}

#[test]
fn all_orientations_give_the_same_upright_cells() {
    // Sizes that leave odd cells on both axes, so that the grid's origin is tested too.
    let upright = busy(37, 23).to_rgb8();
    let mut options = ReadOptions::default();
    options.long_side_cells = 8;
    let plain = encode(&upright.clone().into(), Png, Extras::default());
    let expected = read_bytes(&plain, &options).expect("reads").frame;
    assert_eq!((expected.cell, expected.columns, expected.rows), (5, 8, 5));
    for orientation in 1..=8u8 {
        let value = exif::Value::Short(vec![u16::from(orientation)]);
        let block = exif_block(&[(exif::Tag::Orientation, value)]);
        let turned = stored(&upright, orientation).into();
        for format in [Png, WebP] {
            let bytes = encode(&turned, format, Extras::exif(block.clone()));
            let found = read_bytes(&bytes, &options).expect("reads");
            assert_eq!(found.shot.orientation, orientation);
            assert_eq!((found.frame.width, found.frame.height), (37, 23));
            assert_eq!(found.frame.columns, expected.columns);
            for (got, want) in found.frame.cells.iter().zip(&expected.cells) {
                assert_close(f64::from(got.spread), f64::from(want.spread), 1e-6, "spread");
                for (got, want) in got.mean.iter().zip(want.mean) {
                    let what = format!("orientation {orientation} {format:?}");
                    assert_close(f64::from(*got), f64::from(want), 1e-6, &what);
                }
            }
        }
    }
}

/// A plain card without any colour, or a scene, of so many levels from dark to bright.
fn colourless(levels: std::ops::Range<u8>) -> DynamicImage {
    let across = f64::from(levels.end - levels.start);
    let grey = |x: u32| levels.start + (across * f64::from(x) / 96.0) as u8;
    RgbImage::from_fn(96, 64, |x, _| Rgb([grey(x); 3])).into()
}

fn jpeg_of_quality(image: &DynamicImage, quality: u8) -> Vec<u8> {
    let mut bytes = Vec::new();
    let encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, quality);
    image.write_with_encoder(encoder).expect("encodes");
    bytes
}

#[test]
fn three_channels_that_are_alike_are_black_and_white() {
    let is_grey = |bytes: &[u8]| still(bytes).shot.notes.iter().any(|note| note.code() == "grey");
    let card = colourless(150..200);
    for format in [Jpeg, Png, Tiff] {
        assert!(is_grey(&encode(&card, format, Extras::default())), "{format:?}");
    }
    // One pixel of colour is enough, and white or black alone are none at all.
    let mut coloured = card.to_rgb8();
    coloured.put_pixel(40, 30, Rgb([160, 161, 160]));
    assert!(!is_grey(&encode(&coloured.into(), Png, Extras::default())));
    for level in [0, 255] {
        assert!(!is_grey(&encode(&flat(96, 64, [level; 3]), Png, Extras::default())), "{level}");
    }
    // What a coarse JPEG rounds away of a plain neutral surface was no black-and-white picture; what
    // has more in it was.
    assert!(!is_grey(&jpeg_of_quality(&card, 50)));
    assert!(is_grey(&jpeg_of_quality(&colourless(20..220), 50)));
}
