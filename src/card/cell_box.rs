//! Rectangles of cells.

use super::grid::Mask;
use crate::still::LinearFrame;

/// An upright rectangle of cells: left and top, and the first column and row beyond it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct CellBox {
    pub(crate) left: usize,
    pub(crate) top: usize,
    pub(crate) right: usize,
    pub(crate) bottom: usize,
}

impl CellBox {
    /// The smallest that holds both.
    pub(crate) fn with(self, other: Self) -> Self {
        Self {
            left: self.left.min(other.left),
            top: self.top.min(other.top),
            right: self.right.max(other.right),
            bottom: self.bottom.max(other.bottom),
        }
    }

    /// Whether they share a cell or lie side by side.
    fn overlaps(self, other: Self) -> bool {
        self.left <= other.right
            && other.left <= self.right
            && self.top <= other.bottom
            && other.top <= self.bottom
    }

    /// The smallest that holds these cells of a mask; `None` of none.
    fn around(mask: &Mask, cells: &[usize]) -> Option<Self> {
        let cell = |index: &usize| {
            let (left, top) = mask.place(*index);
            Self { left, top, right: left + 1, bottom: top + 1 }
        };
        cells.iter().map(cell).reduce(Self::with)
    }

    /// The smallest that holds a mask's cells; `None` of none.
    pub(crate) fn of(mask: &Mask) -> Option<Self> {
        Self::around(mask, &mask.indices().collect::<Vec<_>>())
    }

    /// Left, top, width and height in pixels of the upright picture.
    pub(crate) fn pixels(self, frame: &LinearFrame) -> [f64; 4] {
        let at =
            |cells: usize, most: u32| (cells as f64 * f64::from(frame.cell)).min(f64::from(most));
        let (left, top) = (at(self.left, frame.width), at(self.top, frame.height));
        [left, top, at(self.right, frame.width) - left, at(self.bottom, frame.height) - top]
    }
}

/// So many places of one kind are told, the largest first.
const MOST: usize = 12;

/// The boxes round the largest parts of a mask; those that overlap count as one.
pub(crate) fn boxes(mask: &Mask, least: usize) -> Vec<CellBox> {
    let parts = mask.part_cells(least);
    let mut boxes: Vec<CellBox> = Vec::new();
    for mut next in parts.iter().take(MOST).filter_map(|cells| CellBox::around(mask, cells)) {
        while let Some(index) = boxes.iter().position(|other| other.overlaps(next)) {
            next = next.with(boxes.swap_remove(index));
        }
        boxes.push(next);
    }
    boxes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_that_overlap_have_one_box_and_specks_none() {
        let mask = Mask::from_fn(30, 20, |column, row| {
            // An L round a bar, a block far away, and a speck.
            (column == 2 && row < 9)
                || (row == 8 && (2..9).contains(&column))
                || (column == 6 && (2..6).contains(&row))
                || (column > 24 && row > 14)
                || (column, row) == (15, 2)
        });
        let cells = |left, top, right, bottom| CellBox { left, top, right, bottom };
        let mut found = boxes(&mask, 3);
        found.sort_by_key(|found| found.left);
        assert_eq!(found, [cells(2, 0, 9, 9), cells(25, 15, 30, 20)]);
    }
}
