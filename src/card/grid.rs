//! A rectangle of values, one for each cell of a frame, and the few operations on it that
//! finding a card needs.

use std::collections::VecDeque;

/// Row-major values over the cells of a frame. Reads outside it are clamped to its border.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Grid<T> {
    columns: usize,
    rows: usize,
    values: Vec<T>,
}

pub(crate) type Mask = Grid<bool>;

impl<T: Copy> Grid<T> {
    pub(crate) fn from_fn(
        columns: usize,
        rows: usize,
        mut value: impl FnMut(usize, usize) -> T,
    ) -> Self {
        let mut values = Vec::with_capacity(columns * rows);
        for row in 0..rows {
            for column in 0..columns {
                values.push(value(column, row));
            }
        }
        Self { columns, rows, values }
    }

    pub(crate) fn columns(&self) -> usize {
        self.columns
    }

    pub(crate) fn rows(&self) -> usize {
        self.rows
    }

    pub(crate) fn len(&self) -> usize {
        self.values.len()
    }

    /// The value at a cell; outside the grid that of the nearest border cell.
    pub(crate) fn at(&self, column: isize, row: isize) -> T {
        let column = column.clamp(0, self.columns as isize - 1) as usize;
        let row = row.clamp(0, self.rows as isize - 1) as usize;
        self.values[row * self.columns + column]
    }

    pub(crate) fn get(&self, index: usize) -> T {
        self.values[index]
    }

    pub(crate) fn set(&mut self, index: usize, value: T) {
        self.values[index] = value;
    }

    /// The column and row of an index.
    pub(crate) fn place(&self, index: usize) -> (usize, usize) {
        (index % self.columns, index / self.columns)
    }

    /// The indices of the up to four cells that share a side with `index`.
    pub(crate) fn neighbours(&self, index: usize) -> impl Iterator<Item = usize> + use<T> {
        let (column, row) = self.place(index);
        let (columns, rows) = (self.columns, self.rows);
        [
            (column > 0).then(|| index - 1),
            (column + 1 < columns).then_some(index + 1),
            (row > 0).then(|| index - columns),
            (row + 1 < rows).then_some(index + columns),
        ]
        .into_iter()
        .flatten()
    }

    pub(crate) fn map<U: Copy>(&self, f: impl Fn(T) -> U) -> Grid<U> {
        Grid {
            columns: self.columns,
            rows: self.rows,
            values: self.values.iter().map(|&v| f(v)).collect(),
        }
    }
}

impl Mask {
    pub(crate) fn count(&self) -> usize {
        self.values.iter().filter(|&&v| v).count()
    }

    pub(crate) fn indices(&self) -> impl Iterator<Item = usize> + '_ {
        self.values.iter().enumerate().filter(|&(_, &v)| v).map(|(i, _)| i)
    }

    /// The mask with each cell as `is_in` has it, from its middle and whether it was in.
    pub(crate) fn map_places(&self, is_in: impl Fn([f64; 2], bool) -> bool) -> Mask {
        Grid::from_fn(self.columns, self.rows, |column, row| {
            let was = self.values[row * self.columns + column];
            is_in([column as f64 + 0.5, row as f64 + 0.5], was)
        })
    }

    pub(crate) fn union(&self, other: &Mask) -> Mask {
        let values = self.values.iter().zip(&other.values).map(|(&a, &b)| a || b).collect();
        Mask { columns: self.columns, rows: self.rows, values }
    }

    pub(crate) fn intersection(&self, other: &Mask) -> Mask {
        let values = self.values.iter().zip(&other.values).map(|(&a, &b)| a && b).collect();
        Mask { columns: self.columns, rows: self.rows, values }
    }

    pub(crate) fn minus(&self, other: &Mask) -> Mask {
        let values = self.values.iter().zip(&other.values).map(|(&a, &b)| a && !b).collect();
        Mask { columns: self.columns, rows: self.rows, values }
    }

    /// Grown by `steps` cells in all eight directions.
    pub(crate) fn dilated(&self, steps: usize) -> Mask {
        self.moved_border(steps, true)
    }

    /// Shrunk by `steps` cells in all eight directions; the frame's border does not eat into it.
    pub(crate) fn eroded(&self, steps: usize) -> Mask {
        self.moved_border(steps, false)
    }

    // A square window is separable: rows first, then columns.
    fn moved_border(&self, steps: usize, grow: bool) -> Mask {
        let reach = steps as isize;
        let along_rows = Grid::from_fn(self.columns, self.rows, |c, r| {
            (-reach..=reach).any(|d| self.at(c as isize + d, r as isize) == grow) == grow
        });
        Grid::from_fn(self.columns, self.rows, |c, r| {
            (-reach..=reach).any(|d| along_rows.at(c as isize, r as isize + d) == grow) == grow
        })
    }

    /// The connected parts (cells that share a side), largest first, those under `least` left out.
    pub(crate) fn parts(&self, least: usize) -> Vec<Mask> {
        self.part_cells(least).iter().map(|part| self.of_cells(part)).collect()
    }

    /// The same as lists of cells: of thousands of specks a mask each would take for ever.
    pub(crate) fn part_cells(&self, least: usize) -> Vec<Vec<usize>> {
        let mut seen = vec![false; self.len()];
        let mut parts: Vec<Vec<usize>> = Vec::new();
        for start in self.indices() {
            if seen[start] {
                continue;
            }
            seen[start] = true;
            let mut part = vec![start];
            let mut next = 0;
            while let Some(&cell) = part.get(next) {
                next += 1;
                for neighbour in self.neighbours(cell) {
                    if self.values[neighbour] && !seen[neighbour] {
                        seen[neighbour] = true;
                        part.push(neighbour);
                    }
                }
            }
            if part.len() >= least {
                parts.push(part);
            }
        }
        parts.sort_by_key(|part| std::cmp::Reverse(part.len()));
        parts
    }

    /// These cells cut out of the frame with `margin` cells around them, as far as the frame goes, and
    /// the column and row where the cut begins.
    pub(crate) fn cut_out(&self, cells: &[usize], margin: usize) -> (Mask, [usize; 2]) {
        let (mut first, mut last) = ([usize::MAX; 2], [0; 2]);
        for &cell in cells {
            let (column, row) = self.place(cell);
            first = [first[0].min(column), first[1].min(row)];
            last = [last[0].max(column), last[1].max(row)];
        }
        let [left, top] = first.map(|place| place.saturating_sub(margin));
        let right = (last[0] + margin + 1).min(self.columns).max(left);
        let bottom = (last[1] + margin + 1).min(self.rows).max(top);
        let mut cut = Grid::from_fn(right - left, bottom - top, |_, _| false);
        for &cell in cells {
            let (column, row) = self.place(cell);
            cut.set((row - top) * (right - left) + column - left, true);
        }
        (cut, [left, top])
    }

    /// The same region without the holes in it: everything that the outside does not reach.
    pub(crate) fn without_holes(&self) -> Mask {
        let mut outside = self.map(|_| false);
        let mut queue: VecDeque<usize> = VecDeque::new();
        for index in 0..self.len() {
            let (column, row) = self.place(index);
            let border =
                column == 0 || row == 0 || column + 1 == self.columns || row + 1 == self.rows;
            if border && !self.values[index] {
                outside.set(index, true);
                queue.push_back(index);
            }
        }
        while let Some(index) = queue.pop_front() {
            for neighbour in self.neighbours(index) {
                if !self.values[neighbour] && !outside.get(neighbour) {
                    outside.set(neighbour, true);
                    queue.push_back(neighbour);
                }
            }
        }
        outside.map(|v| !v)
    }

    fn of_cells(&self, cells: &[usize]) -> Mask {
        let mut mask = self.map(|_| false);
        for &cell in cells {
            mask.set(cell, true);
        }
        mask
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mask(rows: &[&str]) -> Mask {
        Grid::from_fn(rows[0].len(), rows.len(), |c, r| rows[r].as_bytes()[c] == b'#')
    }

    #[test]
    fn growing_and_shrinking_move_the_border_by_whole_cells() {
        let dot = mask(&[".....", ".....", "..#..", ".....", "....."]);
        assert_eq!(dot.dilated(1).count(), 9);
        assert_eq!(dot.dilated(1).eroded(1), dot);
        assert_eq!(mask(&["###", "###"]).eroded(1).count(), 6, "the frame's border does not eat");
    }

    #[test]
    fn parts_come_largest_first_and_small_ones_are_left_out() {
        let parts = mask(&["##...#", "##....", "...##."]).parts(2);
        assert_eq!(parts.iter().map(Mask::count).collect::<Vec<_>>(), [4, 2]);
    }

    #[test]
    fn holes_are_filled_but_bays_are_not() {
        assert_eq!(mask(&["###", "#.#", "###"]).without_holes().count(), 9);
        assert_eq!(mask(&["###", "#..", "###"]).without_holes().count(), 7);
    }
}
