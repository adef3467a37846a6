//! Where the ride goes: slope and wished speeds along the road, and where it stops.
//!
//! A course is cut into cells of equal length. Slope and the squares of both wished speeds run straight across a cell; the
//! square, because braking evenly takes the same amount of it off every metre. Heights at both ends are kept exactly.

use quantity::*;

/// Length of a cell on courses up to [`FINE_UP_TO_M`]; longer ones get as many cells.
const CELL_M: f64 = 5.0;
/// Longest course with the finest cells.
const FINE_UP_TO_M: f64 = 200_000.0;
/// A bike that stops arrives with this speed; the hand brake takes the rest.
pub const ARRIVES_M_S: f64 = 0.5;

/// A place on the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Distance on the map from the start.
    pub at: Length,
    /// Height.
    pub height: Length,
    /// Speeds wished from here on; where there are none, the rider's own hold.
    pub wish: Option<Wish>,
}

/// Speeds wished at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wish {
    /// Pedals up to this speed.
    pub pedal: Speed,
    /// Brakes above this speed.
    pub brake: Speed,
}

impl Wish {
    /// One speed for both.
    pub const fn exactly(speed: Speed) -> Self {
        Self { pedal: speed, brake: speed }
    }
}

/// A place where the bike stands for a while. It moves to the nearest edge of a cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    /// Distance on the map from the start.
    pub at: Length,
    /// How long.
    pub wait: Time,
}

/// A place that allows no more than a speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// Distance on the map from the start.
    pub at: Length,
    /// Speed there.
    pub speed: Speed,
}

/// Speeds and habits of the rider that shape the course.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wishes {
    /// Pedals up to this speed.
    pub cruise: Speed,
    /// Lets the bike run up to this speed, then brakes.
    pub downhill: Speed,
    /// Slows down with this before bends and stops.
    pub slowing: Acceleration,
}

/// Why there is no course.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CourseError {
    /// Fewer than two points, or shorter than 10 m or longer than 2000 km.
    Length {
        /// As given, m.
        metres: f64,
    },
    /// Distances that do not grow, or numbers that are none; the point, from 0.
    Order(usize),
    /// Steeper than 60 % between this point and the next.
    Steep {
        /// The point, from 0.
        point: usize,
        /// As given.
        percent: f64,
    },
    /// A speed or slowing that no ride has, m/s or m/s².
    Wish(f64),
}

/// One cell: values at its start and their change across it.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Cell {
    pub sin: f64,
    pub d_sin: f64,
    /// Square of the speed above which the rider brakes.
    pub brake: f64,
    pub d_brake: f64,
    /// Square of the speed up to which the rider pedals.
    pub pedal: f64,
    pub d_pedal: f64,
}

impl Cell {
    pub(super) const fn row(&self) -> [f64; 6] {
        [self.sin, self.d_sin, self.brake, self.d_brake, self.pedal, self.d_pedal]
    }
}

/// A stop at the edge of a cell.
#[derive(Clone, Copy, Debug)]
pub(super) struct Halt {
    pub x_m: f64,
    pub wait_s: f64,
}

/// A course, ready to ride.
#[derive(Clone, Debug)]
pub struct Course {
    pub(super) cells: Vec<Cell>,
    pub(super) cell_m: f64,
    pub(super) halts: Vec<Halt>,
    start_m: f64,
    climb_m: f64,
    drop_m: f64,
    /// Slope at the cell edges and heights there, for pictures.
    heights_m: Vec<f64>,
    map_scale: f64,
    start_m_s: f64,
}

impl Course {
    /// From points, bends and stops.
    ///
    /// # Errors
    /// [`CourseError`] where they make no course.
    pub fn new(points: &[Point], bends: &[Bend], stops: &[Stop], wishes: &Wishes) -> Result<Self, CourseError> {
        check(points, wishes)?;
        let road = along_road(points);
        let length_m = road[road.len() - 1];
        if !(10.0..=2e6).contains(&length_m) {
            return Err(CourseError::Length { metres: length_m });
        }
        let cells = (length_m.min(FINE_UP_TO_M) / CELL_M).round().max(2.0) as usize;
        let cell_m = length_m / cells as f64;
        let heights: Vec<f64> = points.iter().map(|p| p.height.as_metres()).collect();
        let edges: Vec<f64> = resampled(&road, &heights, cells, cell_m);
        let sines = slopes(&edges, cell_m);
        let (brake, pedal, halts) = speeds(points, &road, bends, stops, wishes, cells, cell_m);
        let made = (0..cells)
            .map(|i| Cell {
                sin: sines[i],
                d_sin: sines[i + 1] - sines[i],
                brake: brake[i],
                d_brake: brake[i + 1] - brake[i],
                pedal: pedal[i],
                d_pedal: pedal[i + 1] - pedal[i],
            })
            .collect();
        let steps = edges.windows(2).map(|w| w[1] - w[0]);
        let climb_m = steps.clone().map(|d| d.max(0.0)).sum();
        let map_m = points[points.len() - 1].at.as_metres() - points[0].at.as_metres();
        Ok(Self {
            cells: made,
            cell_m,
            halts,
            start_m: edges[0],
            climb_m,
            drop_m: steps.map(|d| (-d).max(0.0)).sum(),
            heights_m: edges,
            map_scale: map_m / length_m,
            start_m_s: 0.0,
        })
    }

    /// One even descent from a height, ridden at one speed.
    ///
    /// # Errors
    /// As [`Course::new`].
    pub fn descent(grade: Grade, height: Length, speed: Speed) -> Result<Self, CourseError> {
        if !(grade.get() > 0.0 && grade.get() <= 0.6) {
            return Err(CourseError::Steep { point: 0, percent: grade.as_percent() });
        }
        let wish = Some(Wish::exactly(speed));
        let top = Point { at: Length::ZERO, height, wish };
        let foot = Point { at: height / grade.get(), height: Length::ZERO, wish };
        let wishes = Wishes { cruise: speed, downhill: speed, slowing: Acceleration::metres_per_second_squared(1.0) };
        let course = Self::new(&[top, foot], &[], &[], &wishes)?;
        Ok(Self { start_m_s: speed.as_metres_per_second(), ..course })
    }

    /// A route of stretches of one slope each. Where it was ridden before (begin, end and speed of each piece), the rider
    /// pedals up to the speed of then and brakes above the fastest of the piece and its neighbours, so that the ripple of
    /// a recording is not braked away.
    ///
    /// # Errors
    /// As [`Course::new`].
    pub fn along(
        start_height: Length,
        stretches: impl IntoIterator<Item = (Length, Grade)>,
        ridden: &[(Length, Length, Speed)],
        stops: &[Stop],
        wishes: &Wishes,
    ) -> Result<Self, CourseError> {
        let slowest = Speed::metres_per_second(1.0);
        let wish = |at: Length| {
            let i = ridden.iter().position(|(from, to, _)| *from <= at && at < *to)?;
            let near = &ridden[i.saturating_sub(1)..(i + 2).min(ridden.len())];
            let pedal = ridden[i].2.max(slowest);
            Some(Wish { pedal, brake: near.iter().fold(pedal, |most, piece| most.max(piece.2)) })
        };
        let mut at = Length::ZERO;
        let mut height = start_height;
        let mut points = vec![Point { at, height, wish: wish(at) }];
        for (length, grade) in stretches {
            at = at + length;
            height = height + length * grade.get();
            points.push(Point { at, height, wish: wish(at) });
        }
        Self::new(&points, &[], stops, wishes)
    }

    /// Speed at its start: nothing, or that of a descent.
    pub fn start_speed(&self) -> Speed {
        Speed::metres_per_second(self.start_m_s)
    }

    /// Length along the road.
    pub fn length(&self) -> Length {
        Length::metres(self.cell_m * self.cells.len() as f64)
    }
    /// Metres climbed.
    pub fn climb(&self) -> Length {
        Length::metres(self.climb_m)
    }
    /// Metres descended.
    pub fn drop(&self) -> Length {
        Length::metres(self.drop_m)
    }
    /// Height of the end above the start.
    pub fn rise(&self) -> Length {
        Length::metres(self.climb_m - self.drop_m)
    }
    /// Height at a place along the road.
    pub fn height(&self, along: Length) -> Length {
        let at = (along.as_metres() / self.cell_m).clamp(0.0, self.cells.len() as f64);
        let i = (at as usize).min(self.cells.len() - 1);
        let (a, b) = (self.heights_m[i], self.heights_m[i + 1]);
        Length::metres(a + (at - i as f64) * (b - a))
    }
    /// Height of the start.
    pub fn start_height(&self) -> Length {
        Length::metres(self.start_m)
    }
    /// Distance on the map over distance along the road, over the whole course.
    pub fn map_share(&self) -> Ratio {
        Ratio::new(self.map_scale)
    }
    /// Number of stops.
    pub fn stops(&self) -> usize {
        self.halts.len()
    }
}

fn check(points: &[Point], wishes: &Wishes) -> Result<(), CourseError> {
    if points.len() < 2 {
        return Err(CourseError::Length { metres: 0.0 });
    }
    for (i, w) in points.windows(2).enumerate() {
        let (run, rise) = ((w[1].at - w[0].at).as_metres(), (w[1].height - w[0].height).as_metres());
        if !(run > 0.0 && rise.is_finite()) {
            return Err(CourseError::Order(i + 1));
        }
        if (rise / run).abs() > 0.6 {
            return Err(CourseError::Steep { point: i, percent: 100.0 * rise / run });
        }
    }
    for v in [wishes.cruise, wishes.downhill]
        .into_iter()
        .chain(points.iter().filter_map(|p| p.wish).flat_map(|w| [w.pedal, w.brake]))
    {
        if !(0.5..=40.0).contains(&v.as_metres_per_second()) {
            return Err(CourseError::Wish(v.as_metres_per_second()));
        }
    }
    let slowing = wishes.slowing.as_metres_per_second_squared();
    if (0.1..=5.0).contains(&slowing) { Ok(()) } else { Err(CourseError::Wish(slowing)) }
}

/// Distance along the slope of each point.
fn along_road(points: &[Point]) -> Vec<f64> {
    let mut out = vec![0.0];
    let mut sum = 0.0;
    for w in points.windows(2) {
        let (run, rise) = ((w[1].at - w[0].at).as_metres(), (w[1].height - w[0].height).as_metres());
        sum += (run * run + rise * rise).sqrt();
        out.push(sum);
    }
    out
}

/// Heights at the cell edges, straight between the points.
fn resampled(road: &[f64], heights: &[f64], cells: usize, cell_m: f64) -> Vec<f64> {
    let mut out = Vec::with_capacity(cells + 1);
    let mut k = 0;
    for i in 0..=cells {
        let x = (i as f64 * cell_m).min(road[road.len() - 1]);
        while k + 2 < road.len() && road[k + 1] < x {
            k += 1;
        }
        let share = ((x - road[k]) / (road[k + 1] - road[k])).min(1.0);
        out.push(heights[k] + share * (heights[k + 1] - heights[k]));
    }
    out
}

/// Sine of the slope at the edges: mean of both sides, so that the sum over the course is its rise.
fn slopes(edges: &[f64], cell_m: f64) -> Vec<f64> {
    let cells: Vec<f64> = edges.windows(2).map(|w| (w[1] - w[0]) / cell_m).collect();
    let last = cells.len() - 1;
    (0..=cells.len())
        .map(|i| {
            if i == 0 {
                cells[0]
            } else if i > last {
                cells[last]
            } else {
                (cells[i - 1] + cells[i]) / 2.0
            }
        })
        .collect()
}

/// Squares of the speeds for braking and pedalling at the edges, slowing in time for what comes.
fn speeds(
    points: &[Point],
    road: &[f64],
    bends: &[Bend],
    stops: &[Stop],
    wishes: &Wishes,
    cells: usize,
    cell_m: f64,
) -> (Vec<f64>, Vec<f64>, Vec<Halt>) {
    let square = |v: Speed| v.as_metres_per_second() * v.as_metres_per_second();
    let mut brake = Vec::with_capacity(cells + 1);
    let mut pedal = Vec::with_capacity(cells + 1);
    let mut k = 0;
    for i in 0..=cells {
        let x = i as f64 * cell_m;
        while k + 1 < points.len() && road[k + 1] <= x {
            k += 1;
        }
        let wish = points[k].wish;
        brake.push(square(wish.map_or(wishes.downhill, |w| w.brake)));
        pedal.push(square(wish.map_or(wishes.cruise, |w| w.pedal)));
    }
    let on_road = |at: Length| {
        let map = at.as_metres();
        let k = points.partition_point(|p| p.at.as_metres() <= map).clamp(1, points.len() - 1);
        let (a, b) = (points[k - 1].at.as_metres(), points[k].at.as_metres());
        road[k - 1] + (map - a) / (b - a) * (road[k] - road[k - 1])
    };
    let edge = |at: Length| (on_road(at) / cell_m).round();
    let inside = |e: f64| e >= 1.0 && e <= cells as f64;
    for b in bends {
        let e = edge(b.at);
        if inside(e) {
            brake[e as usize] = brake[e as usize].min(square(b.speed));
        }
    }
    let mut halts: Vec<Halt> = Vec::new();
    let mut sorted = stops.to_vec();
    sorted.sort_by(|a, b| a.at.as_metres().total_cmp(&b.at.as_metres()));
    for s in sorted {
        let e = edge(s.at);
        let x_m = e * cell_m;
        if inside(e) && e < cells as f64 && halts.last().is_none_or(|h| h.x_m < x_m) {
            brake[e as usize] = ARRIVES_M_S * ARRIVES_M_S;
            halts.push(Halt { x_m, wait_s: s.wait.as_seconds().max(0.0) });
        }
    }
    let taken = 2.0 * wishes.slowing.as_metres_per_second_squared() * cell_m;
    for i in (0..cells).rev() {
        brake[i] = brake[i].min(brake[i + 1] + taken);
    }
    for (p, b) in pedal.iter_mut().zip(&brake) {
        *p = p.min(*b);
    }
    (brake, pedal, halts)
}

/// Stops of traffic spread evenly but not regularly (steps of the golden ratio), `per_km` of them on a course this long.
pub fn traffic(length: Length, per_km: f64, wait: Time) -> Vec<Stop> {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let count = (length.as_metres() / 1000.0 * per_km).round().max(0.0) as usize;
    let place = |i: usize| {
        let turn = GOLDEN * (i as f64 + 1.0);
        length * (turn - turn.floor())
    };
    (0..count).map(|i| Stop { at: place(i), wait }).collect()
}
