//! Colours with each channel by itself, so that a compiler makes vectors of the loops over them.

/// Red, green and blue of as many colours.
pub(crate) type Channels = [Vec<f32>; 3];

/// The colours, one after the other.
#[inline(always)]
pub(crate) fn each<T: AsRef<[f32]>>(
    [red, green, blue]: &[T; 3],
) -> impl ExactSizeIterator<Item = [f32; 3]> {
    let colours = red.as_ref().iter().zip(green.as_ref()).zip(blue.as_ref());
    colours.map(|((red, green), blue)| [*red, *green, *blue])
}
