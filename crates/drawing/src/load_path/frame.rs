//! Where everything stands: one plan of columns and rows for three widths.
//!
//! Columns are mirrored around the wheel. Wide: towers of two columns at the sides, two more on each side of the wheel.
//! Tall and narrow: the same columns serve axle, battery and road, one block below the other.

use super::heading::Heading;
use super::{Format, Options, hub, legend};
use crate::plate::{BELOW, HEIGHT, PITCH, STEP, WIDTH};
use crate::svg::{Svg, n};
use workbench::check::{Check, LinkResult};
use workbench::fact::{Side, list};
use workbench::job::Job;
use workbench::link::{Kind, Path, Place};
use workbench::words;

/// The plan of one picture.
pub struct Frame {
    pub width: f64,
    pub height: f64,
    /// The wheel's middle.
    pub centre: f64,
    /// From the wheel's middle to the nearest plate.
    pub trunk: f64,
    /// Height of the axle's line.
    pub axle: f64,
    /// Top of the energy path.
    pub up: f64,
    /// Road.
    pub down: f64,
    /// Where the reaction path leaves the dropouts, outwards from the middle.
    pub dropout: f64,
    /// Upper and lower end of each side's lines.
    pub bus: [(f64, f64); 2],
    /// One place for each link of the check.
    pub places: Vec<(f64, f64)>,
    pub side_words: f64,
    pub energy_words: f64,
    pub drive_words: f64,
    pub fault_words: f64,
    pub margin: f64,
    pub heading: Option<Heading>,
    pub legend: (f64, f64),
    /// Whether it is the front wheel.
    pub front: bool,
    /// The links in the order in which one walks along the chain.
    pub order: Vec<usize>,
    /// Where an arm could be added: side, x, y.
    pub gaps: Vec<(f64, f64, f64)>,
    pub arm_words: Vec<(f64, f64, String)>,
    /// Rows of side plates: side, y, x of the outermost plate.
    rows: Vec<(f64, f64, f64)>,
    /// Rows hanging on the trunk: y, x of both ends, which path.
    branches: Vec<(f64, f64, f64, Path)>,
    pub format: Format,
}

/// Rows of one axle end: what clamps, what stops it, what must bear it.
const SIDE_ROWS: [[Kind; 2]; 3] =
    [[Kind::Thread, Kind::Nut], [Kind::Faces, Kind::Flats], [Kind::Dropout, Kind::AxleSection]];

/// Room above the hub's middle, with the word of what the axle does.
const ABOVE_HUB: f64 = hub::RADIUS + 48.0;
/// Room below it.
const BELOW_HUB: f64 = hub::BELOW + 26.0;

/// Columns of a format, outwards from the middle: on the trunk, at the sides.
fn columns(format: Format) -> (Vec<f64>, Vec<f64>, f64) {
    let half = WIDTH / 2.0;
    match format {
        Format::Wide => (vec![29.0 + half, 29.0 + half + STEP], vec![359.0 + half, 359.0 + half + STEP], 29.0),
        Format::Tall => (vec![68.0 + half, 68.0 + half + STEP], vec![68.0 + half, 68.0 + half + STEP], 68.0),
        Format::Narrow => (vec![23.0 + half], vec![23.0 + half], 23.0),
    }
}

impl Frame {
    /// Plans the picture of a result.
    pub fn new(job: &Job, check: &Check, options: &Options) -> Self {
        let format = options.format;
        let (trunks, sides, trunk) = columns(format);
        let outermost = sides.iter().chain(&trunks).fold(0.0_f64, |a, b| a.max(*b));
        let margin = if format == Format::Narrow { 5.0 } else { 12.0 };
        let centre = outermost + WIDTH / 2.0 + margin;
        let wide = format == Format::Wide;
        let room = if wide { 2.0 * STEP - 10.0 } else { 2.0 * (centre - margin) };
        let heading = options.heading.then(|| Heading::new(job, check, room));
        let top = heading.as_ref().filter(|_| !wide).map_or(10.0, |h| h.height + 24.0);
        let mut f = Self {
            width: 2.0 * centre,
            height: 0.0,
            centre,
            trunk,
            axle: 0.0,
            up: top,
            down: 0.0,
            dropout: if wide { sides[0] - WIDTH / 2.0 - 14.0 } else { trunk - 7.0 },
            bus: [(0.0, 0.0); 2],
            places: vec![(0.0, 0.0); check.links.len()],
            side_words: 0.0,
            energy_words: top + 15.0,
            drive_words: 0.0,
            fault_words: 0.0,
            margin,
            heading,
            legend: (0.0, 0.0),
            front: job.answer(list::POSITION.id()) == Some("front"),
            order: Vec::new(),
            gaps: Vec::new(),
            arm_words: Vec::new(),
            rows: Vec::new(),
            branches: Vec::new(),
            format,
        };
        let on = |path: Path| -> Vec<usize> {
            (0..check.links.len()).filter(|i| check.links[*i].link.kind.path() == path).collect()
        };

        let energy = on(Path::Energy);
        let rows = energy.len().div_ceil(2 * trunks.len());
        let first = top + 44.0 + HEIGHT / 2.0;
        let hub_side = first + rows.saturating_sub(1) as f64 * PITCH;
        f.trunk_block(&energy, &trunks, hub_side, -PITCH, Path::Energy);
        let energy_end = hub_side + BELOW;

        f.axle = match format {
            Format::Wide | Format::Narrow => energy_end + ABOVE_HUB,
            Format::Tall => energy_end + 44.0 + HEIGHT / 2.0 + PITCH,
        };
        let first_side = if format == Format::Narrow { f.axle + BELOW_HUB + HEIGHT } else { f.axle - PITCH };
        f.side_words = first_side - HEIGHT / 2.0 - 14.0;
        for (i, l) in check.links.iter().enumerate() {
            if l.link.kind == Kind::AxleHold {
                f.places[i] = (centre, f.axle);
                f.order.push(i);
            }
        }
        let mut side_end = f.axle + BELOW_HUB;
        for side in Side::BOTH {
            side_end = side_end.max(f.side(job, check, side, &sides, first_side));
        }

        let drive = on(Path::Drive);
        let rows = drive.len().div_ceil(2 * trunks.len());
        let first = if wide { f.axle + BELOW_HUB } else { side_end + 24.0 } + HEIGHT / 2.0;
        f.trunk_block(&drive, &trunks, first, PITCH, Path::Drive);
        let drive_end = first + rows.saturating_sub(1) as f64 * PITCH + BELOW;
        f.drive_words = drive_end + 22.0;
        f.down = f.drive_words + 14.0;

        let mut y = f.down.max(side_end) + 46.0;
        f.fault_words = y;
        y += 20.0 + HEIGHT / 2.0;
        let mut all: Vec<f64> = trunks.clone();
        if wide {
            all.extend(&sides);
        }
        let mut across: Vec<f64> = all.iter().map(|x| centre - x).chain(all.iter().map(|x| centre + x)).collect();
        across.sort_by(f64::total_cmp);
        for row in on(Path::Fault).chunks(across.len()) {
            for (i, x) in row.iter().zip(&across) {
                f.places[*i] = (*x, y);
                f.order.push(*i);
            }
            f.branches.push((y, across[0], across[row.len() - 1], Path::Fault));
            y += PITCH;
        }
        y += BELOW - PITCH;
        if wide {
            f.legend = (centre + sides[0] - WIDTH / 2.0, top + 24.0);
        } else {
            f.legend = (margin, y + 36.0);
            y += 36.0 + legend::HEIGHT;
        }
        f.height = y + if format == Format::Narrow { 52.0 } else { 34.0 };
        f
    }

    /// Plates left and right of the trunk, row by row from the hub outwards.
    fn trunk_block(&mut self, links: &[usize], columns: &[f64], first: f64, step: f64, path: Path) {
        let mut across: Vec<f64> = columns.iter().rev().map(|x| -x).chain(columns.iter().copied()).collect();
        across.sort_by(f64::total_cmp);
        for (row, chunk) in links.chunks(across.len()).enumerate() {
            let y = first + row as f64 * step;
            // A row that is not full stays near the wheel.
            let skip = (across.len() - chunk.len()) / 2;
            let xs: Vec<f64> = across[skip..skip + chunk.len()].iter().map(|x| self.centre + x).collect();
            for (i, x) in chunk.iter().zip(&xs) {
                self.places[*i] = (*x, y);
                self.order.push(*i);
            }
            let ends = xs.iter().fold((self.centre, self.centre), |(a, b), x| (a.min(*x), b.max(*x)));
            self.branches.push((y, ends.0, ends.1, path));
        }
    }

    /// One end of the axle with its arms; gives its lower end.
    fn side(&mut self, job: &Job, check: &Check, side: Side, columns: &[f64], first: f64) -> f64 {
        let sign = if side == Side::Left { -1.0 } else { 1.0 };
        let here = |i: &usize| {
            check.links[*i].link.place == Place::At(side) && check.links[*i].link.kind.path() == Path::Reaction
        };
        let mine: Vec<usize> = (0..check.links.len()).filter(here).collect();
        let kind = |i: &usize| check.links[*i].link.kind;
        let mut rows: Vec<Vec<usize>> =
            SIDE_ROWS.iter().map(|kinds| mine.iter().copied().filter(|i| kinds.contains(&kind(i))).collect()).collect();
        for row in &mut rows {
            row.sort_by_key(|i| SIDE_ROWS.iter().flatten().position(|k| *k == kind(i)));
        }
        rows.push(mine.iter().copied().filter(|i| !SIDE_ROWS.iter().flatten().any(|k| *k == kind(i))).collect());
        let mut y = first;
        let mut last = first;
        let mut put = |f: &mut Self, row: &[usize], y: &mut f64| {
            for chunk in row.chunks(columns.len()) {
                for (i, x) in chunk.iter().zip(columns) {
                    f.places[*i] = (f.centre + sign * x, *y);
                    f.order.push(*i);
                }
                f.rows.push((sign, *y, f.centre + sign * columns[chunk.len() - 1]));
                last = *y;
                *y += PITCH;
            }
        };
        for row in &rows {
            put(self, row, &mut y);
        }
        let mut armless = true;
        for arm in 0..job.arms {
            // An arm whose side nobody wrote down is drawn on the left.
            if (job.answer(list::ARM_SIDE.of(arm)) == Some("right")) != (side == Side::Right) {
                continue;
            }
            armless = false;
            let of_arm = |l: &LinkResult| l.link.place == Place::Arm(arm) && l.link.kind.path() == Path::Reaction;
            let row: Vec<usize> = (0..check.links.len()).filter(|i| of_arm(&check.links[*i])).collect();
            y += 20.0;
            self.arm_words.push((
                sign,
                y - HEIGHT / 2.0 - 16.0,
                words::fill("drawing.arm", &[("n", &(arm + 1).to_string())]),
            ));
            put(self, &row, &mut y);
        }
        self.bus[side as usize] = (first.min(self.axle), last);
        if armless {
            self.gaps.push((sign, self.centre + sign * columns[0], y - 8.0));
            self.bus[side as usize].1 = y - 8.0;
            return y + 44.0;
        }
        last + BELOW
    }

    /// The three paths, drawn before the plates that lie on them.
    pub fn lines(&self, svg: &mut Svg) {
        let (cx, top) = (self.centre, self.up + 34.0);
        svg.path("energy", &format!("M{},{} V{}", n(cx), n(self.axle), n(top)));
        svg.path("drive", &format!("M{},{} V{}", n(cx), n(self.axle), n(self.down)));
        for (y, a, b, path) in &self.branches {
            svg.path(path.token(), &format!("M{},{} H{}", n(*a), n(*y), n(*b)));
        }
        for (sign, (from, to)) in [-1.0, 1.0].into_iter().zip(self.bus) {
            let x = cx + sign * self.dropout;
            svg.path("reaction", &format!("M{},{} H{} M{},{} V{}", n(cx), n(self.axle), n(x), n(x), n(from), n(to)));
            for (_, gap, y) in self.gaps.iter().filter(|g| g.0 == sign) {
                svg.path("part thin", &format!("M{},{} H{}", n(x), n(*y), n(gap + sign * 60.0)));
            }
            for (_, y, end) in self.rows.iter().filter(|r| r.0 == sign) {
                svg.path("reaction", &format!("M{},{} H{}", n(x), n(*y), n(*end)));
            }
        }
        svg.newline();
    }
}
