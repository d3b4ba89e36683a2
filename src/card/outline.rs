//! The outline of a region: its convex hull, few-cornered, in cell coordinates.

use super::grid::Mask;

/// A point in cell coordinates: (0, 0) is the frame's top left corner, (1, 1) the far corner of
/// the first cell.
pub(crate) type Point = [f64; 2];

/// A convex outline and how well it describes the region it was drawn round.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Outline {
    /// Few corners, clockwise as displayed.
    pub(crate) corners: Vec<Point>,
    /// Region's area over that of its convex hull; 1 for a convex region.
    pub(crate) solidity: f64,
    /// Area of `corners` over that of the convex hull; near 1 where few straight sides suffice.
    pub(crate) straightness: f64,
    /// How many sides are not the frame's own border.
    pub(crate) free_sides: usize,
    /// How many of the frame's four borders it lies along.
    pub(crate) borders_touched: usize,
}

/// Corners are taken away while each costs less than this part of the hull's area.
const CORNER_COST: f64 = 0.004;

/// Short sides, which cells and edges make of a sharp corner, are taken away while the corner
/// that comes in their place adds less than this part of the hull's area.
const SIDE_COST: f64 = 0.012;

impl Outline {
    /// `None` for a region that is too thin to have an area.
    pub(crate) fn of(region: &Mask) -> Option<Self> {
        let hull = convex_hull(corner_points(region));
        let hull_area = area(&hull);
        if hull_area <= 0.0 {
            return None;
        }
        let few = few_cornered(&hull, |lost| lost < CORNER_COST * hull_area, 4);
        let corners = few_sided(few, SIDE_COST * hull_area);
        let (width, height) = (region.columns() as f64, region.rows() as f64);
        let sides: Vec<_> = sides(&corners).collect();
        let border_of = |&(a, b): &(Point, Point)| border(a, b, width, height);
        Some(Self {
            solidity: region.count() as f64 / hull_area,
            straightness: area(&corners) / hull_area,
            free_sides: sides.iter().filter(|side| border_of(side).is_none()).count(),
            borders_touched: borders_touched(region),
            corners,
        })
    }

    /// The four corners that keep the most of the outline's area.
    pub(crate) fn quadrilateral(&self) -> [Point; 4] {
        let four = few_cornered(&self.corners, |_| true, 4);
        let last = four.last().copied().unwrap_or_default();
        std::array::from_fn(|i| four.get(i).copied().unwrap_or(last))
    }

    /// How far the quadrilateral is from a card seen at an angle: the largest departure of a
    /// corner from a right angle, in degrees, and the ratio of its longer to its shorter sides.
    pub(crate) fn skew_and_aspect(&self) -> (f64, f64) {
        let quad = self.quadrilateral();
        let length = |a: Point, b: Point| (a[0] - b[0]).hypot(a[1] - b[1]);
        let skew = (0..4).map(|i| {
            let [before, corner, after] = [3, 0, 1].map(|step| quad[(i + step) % 4]);
            let dot = (before[0] - corner[0]) * (after[0] - corner[0])
                + (before[1] - corner[1]) * (after[1] - corner[1]);
            let size = (length(before, corner) * length(corner, after)).max(f64::MIN_POSITIVE);
            90.0 - (dot / size).clamp(-1.0, 1.0).acos().to_degrees()
        });
        let [top, right, bottom, left] =
            [0, 1, 2, 3].map(|i| length(quad[i], quad[(i + 1) % 4]).max(f64::MIN_POSITIVE));
        let aspect = (top + bottom) / (left + right);
        (skew.map(f64::abs).fold(0.0, f64::max), aspect.max(1.0 / aspect))
    }

    /// Length of the shortest side that is not the frame's border, in cells.
    pub(crate) fn shortest_free_side(&self, columns: usize, rows: usize) -> f64 {
        sides(&self.corners)
            .filter(|&(a, b)| border(a, b, columns as f64, rows as f64).is_none())
            .map(|(a, b)| (a[0] - b[0]).hypot(a[1] - b[1]))
            .fold(f64::INFINITY, f64::min)
    }
}

/// The sides between corners, from each to the next, the last one to the first.
pub(crate) fn sides(corners: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    corners.iter().copied().zip(corners.iter().copied().cycle().skip(1))
}

/// How many of the frame's four borders the region lies along, for a good part of their length.
pub(crate) fn borders_touched(region: &Mask) -> usize {
    const PART: f64 = 0.04;
    let (columns, rows) = (region.columns() as isize, region.rows() as isize);
    let along_row =
        |row| (0..columns).filter(|&c| region.at(c, row)).count() as f64 / columns as f64;
    let along_column =
        |column| (0..rows).filter(|&r| region.at(column, r)).count() as f64 / rows as f64;
    [along_row(0), along_row(rows - 1), along_column(0), along_column(columns - 1)]
        .into_iter()
        .filter(|&part| part > PART)
        .count()
}

/// The frame's border that a side runs along, if it does: within a few cells of it at both ends.
fn border(a: Point, b: Point, width: f64, height: f64) -> Option<usize> {
    let near = 0.01 * width.hypot(height) + 1.0;
    let along = |axis: usize, at: f64| (a[axis] - at).abs() < near && (b[axis] - at).abs() < near;
    [(0, 0.0), (1, 0.0), (0, width), (1, height)].iter().position(|&(axis, at)| along(axis, at))
}

/// The outer corner points of the first and last cell of every row.
fn corner_points(region: &Mask) -> Vec<Point> {
    let mut points = Vec::new();
    for row in 0..region.rows() {
        let is_in = |column: &usize| region.at(*column as isize, row as isize);
        let first = (0..region.columns()).find(is_in);
        let last = (0..region.columns()).rev().find(is_in);
        if let (Some(first), Some(last)) = (first, last) {
            for y in [row as f64, row as f64 + 1.0] {
                points.extend([[first as f64, y], [last as f64 + 1.0, y]]);
            }
        }
    }
    points
}

fn cross(o: Point, a: Point, b: Point) -> f64 {
    (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])
}

/// Andrew's monotone chain; clockwise as displayed (y down).
fn convex_hull(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    points.dedup();
    let half = |points: &mut dyn Iterator<Item = Point>| {
        let mut chain: Vec<Point> = Vec::new();
        for point in points {
            while let [.., o, a] = chain[..] {
                if cross(o, a, point) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(point);
        }
        chain.pop();
        chain
    };
    let mut hull = half(&mut points.iter().copied());
    hull.extend(half(&mut points.iter().rev().copied()));
    hull
}

/// Area of a polygon, in cells.
pub(crate) fn area(polygon: &[Point]) -> f64 {
    sides(polygon).map(|(a, b)| a[0] * b[1] - a[1] * b[0]).sum::<f64>().abs() / 2.0
}

/// Takes away, again and again, the corner whose loss costs the least area, while there are more
/// than `at_least` and `affordable` allows the loss.
fn few_cornered(
    polygon: &[Point],
    affordable: impl Fn(f64) -> bool,
    at_least: usize,
) -> Vec<Point> {
    let mut corners = polygon.to_vec();
    while corners.len() > at_least {
        let n = corners.len();
        let loss = |i: usize| {
            let (before, after) = (corners[(i + n - 1) % n], corners[(i + 1) % n]);
            cross(before, corners[i], after).abs() / 2.0
        };
        let Some(cheapest) = (0..n).min_by(|&a, &b| loss(a).total_cmp(&loss(b))) else { break };
        if !affordable(loss(cheapest)) {
            break;
        }
        corners.remove(cheapest);
    }
    corners
}

/// Takes away, again and again, the side whose neighbours, drawn out until they meet, add the
/// least area, while that is less than `affordable` and more than four sides are left.
fn few_sided(mut corners: Vec<Point>, affordable: f64) -> Vec<Point> {
    while corners.len() > 4 {
        let n = corners.len();
        let meeting = |i: usize| {
            let [before, a, b, after] = [n - 1, 0, 1, 2].map(|step| corners[(i + step) % n]);
            let point = meeting_point(before, a, b, after)?;
            Some((i, point, cross(a, point, b).abs() / 2.0))
        };
        let cheapest = (0..n).filter_map(meeting).min_by(|a, b| a.2.total_cmp(&b.2));
        match cheapest {
            Some((i, point, added)) if added < affordable => {
                corners[i] = point;
                corners.remove((i + 1) % n);
            }
            _ => break,
        }
    }
    corners
}

/// Where the line from `before` through `a` and that from `after` through `b` meet beyond them.
fn meeting_point(before: Point, a: Point, b: Point, after: Point) -> Option<Point> {
    let [d, e] = [[a[0] - before[0], a[1] - before[1]], [b[0] - after[0], b[1] - after[1]]];
    let determinant = d[0] * e[1] - d[1] * e[0];
    if determinant.abs() < 1e-9 {
        return None;
    }
    let (x, y) = (b[0] - a[0], b[1] - a[1]);
    let (along_d, along_e) =
        ((x * e[1] - y * e[0]) / determinant, (x * d[1] - y * d[0]) / determinant);
    (along_d > 0.0 && along_e > 0.0).then(|| [a[0] + along_d * d[0], a[1] + along_d * d[1]])
}

#[cfg(test)]
mod tests {
    use super::super::grid::Grid;
    use super::*;

    /// The cells of a 100 × 80 frame whose centres lie inside a convex polygon.
    fn region(polygon: &[Point]) -> Mask {
        Grid::from_fn(100, 80, |c, r| {
            let centre = [c as f64 + 0.5, r as f64 + 0.5];
            sides(polygon).all(|(a, b)| cross(a, b, centre) >= 0.0)
        })
    }

    #[test]
    fn a_tilted_card_has_four_free_straight_sides() {
        let card = [[20.0, 15.0], [80.0, 22.0], [75.0, 65.0], [16.0, 58.0]];
        let outline = Outline::of(&region(&card)).unwrap();
        assert!(outline.solidity > 0.96 && outline.straightness > 0.96, "{outline:?}");
        assert_eq!((outline.free_sides, outline.borders_touched), (4, 0));
        for corner in card {
            let away = |found: &Point| (found[0] - corner[0]).hypot(found[1] - corner[1]);
            let nearest = outline.quadrilateral().iter().map(away).fold(f64::INFINITY, f64::min);
            assert!(nearest < 2.5, "{corner:?} is {nearest} cells from any corner found");
        }
        let (skew, aspect) = outline.skew_and_aspect();
        assert!(skew < 15.0 && (1.2..1.6).contains(&aspect), "{skew}° {aspect}");
    }

    #[test]
    fn a_card_that_fills_the_frame_has_no_free_side() {
        let whole = Grid::from_fn(30, 20, |_, _| true);
        let outline = Outline::of(&whole).unwrap();
        assert_eq!((outline.free_sides, outline.borders_touched), (0, 4));
        assert!((outline.solidity - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_disc_takes_more_than_four_sides() {
        let disc = Grid::from_fn(100, 80, |c, r| (c as f64 - 50.0).hypot(r as f64 - 40.0) < 30.0);
        assert!(Outline::of(&disc).unwrap().free_sides > 5);
    }

    #[test]
    fn nothing_has_no_outline() {
        assert_eq!(Outline::of(&Grid::from_fn(10, 10, |_, _| false)), None);
    }
}
