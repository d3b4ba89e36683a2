//! Exif orientation: how the stored rows and columns lie in the upright picture.

/// How to turn the stored picture upright: mirror along the stored axes first, then exchange them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Orientation {
    /// The stored columns run from right to left.
    pub(super) flip_x: bool,
    /// The stored rows run from bottom to top.
    pub(super) flip_y: bool,
    /// The stored rows are the upright columns.
    pub(super) transpose: bool,
}

impl Orientation {
    /// From the Exif `Orientation` value, 1–8; any other is taken as 1 (CIPA DC-008, tag 274).
    pub(super) fn from_exif(value: u8) -> Self {
        let (flip_x, flip_y, transpose) = match value {
            2 => (true, false, false),
            3 => (true, true, false),
            4 => (false, true, false),
            5 => (false, false, true),
            6 => (false, true, true),
            7 => (true, true, true),
            8 => (true, false, true),
            _ => (false, false, false),
        };
        Self { flip_x, flip_y, transpose }
    }

    /// The upright size of something stored as `columns` × `rows`.
    pub(super) fn upright_size(self, columns: u32, rows: u32) -> (u32, u32) {
        if self.transpose { (rows, columns) } else { (columns, rows) }
    }

    /// The stored place of a point of the upright picture; `size` is the stored width and height.
    pub(super) fn stored_place(self, upright: [f64; 2], size: [f64; 2]) -> [f64; 2] {
        let [x, y] = if self.transpose { [upright[1], upright[0]] } else { upright };
        [if self.flip_x { size[0] - x } else { x }, if self.flip_y { size[1] - y } else { y }]
    }

    /// The upright place of a point of the stored picture; `size` is the stored width and height.
    pub(super) fn upright_place(self, stored: [f64; 2], size: [f64; 2]) -> [f64; 2] {
        let x = if self.flip_x { size[0] - stored[0] } else { stored[0] };
        let y = if self.flip_y { size[1] - stored[1] } else { stored[1] };
        if self.transpose { [y, x] } else { [x, y] }
    }

    /// Rearranges a row-by-row grid from stored to upright order.
    pub(super) fn upright<T: Copy>(self, stored: Vec<T>, columns: usize) -> Vec<T> {
        if self == Self::from_exif(1) || columns == 0 {
            return stored;
        }
        let (width, height) = (columns, stored.len() / columns);
        let at = |x: usize, y: usize| {
            let x = if self.flip_x { width - 1 - x } else { x };
            let y = if self.flip_y { height - 1 - y } else { y };
            stored.get(y * width + x).copied()
        };
        if self.transpose {
            (0..width)
                .flat_map(|x| {
                    (0..height).filter_map({
                        let at = &at;
                        move |y| at(x, y)
                    })
                })
                .collect()
        } else {
            (0..height)
                .flat_map(|y| {
                    (0..width).filter_map({
                        let at = &at;
                        move |x| at(x, y)
                    })
                })
                .collect()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_point_of_the_upright_picture_is_found_where_it_is_stored() {
        let (columns, rows) = (5, 3);
        let stored: Vec<usize> = (0..columns * rows).collect();
        for value in 1..=8 {
            let orientation = Orientation::from_exif(value);
            let upright = orientation.upright(stored.clone(), columns);
            let (width, _) = orientation.upright_size(columns as u32, rows as u32);
            for (index, &content) in upright.iter().enumerate() {
                let middle = [index % width as usize, index / width as usize];
                let [x, y] = orientation.stored_place(
                    middle.map(|place| place as f64 + 0.5),
                    [columns as f64, rows as f64],
                );
                let found = y as usize * columns + x as usize;
                assert_eq!(found, content, "orientation {value}, {middle:?}");
                let back = orientation.upright_place([x, y], [columns as f64, rows as f64]);
                assert_eq!(back, middle.map(|place| place as f64 + 0.5), "orientation {value}");
            }
        }
    }

    /// The stored picture for each orientation of one upright picture, by the Exif wording: orientation N
    /// says which visual side the stored row 0 and the stored column 0 are.
    #[test]
    fn all_eight_come_upright() {
        let upright = ["abc", "def"].concat();
        let stored: [(u8, &str, usize); 8] = [
            (1, "abcdef", 3), // row 0 top, column 0 left
            (2, "cbafed", 3), // top, right
            (3, "fedcba", 3), // bottom, right
            (4, "defabc", 3), // bottom, left
            (5, "adbecf", 2), // left, top
            (6, "cfbead", 2), // right, top
            (7, "fcebda", 2), // right, bottom
            (8, "daebfc", 2), // left, bottom
        ];
        for (value, letters, columns) in stored {
            let orientation = Orientation::from_exif(value);
            let result = orientation.upright(letters.as_bytes().to_vec(), columns);
            assert_eq!(String::from_utf8_lossy(&result), upright, "orientation {value}");
            let rows = 6 / columns as u32;
            assert_eq!(orientation.upright_size(columns as u32, rows), (3, 2));
        }
    }
}
