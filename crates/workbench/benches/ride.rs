//! Rides: time of one step of the full model, and a thousand variants of 100 km. Run: `cargo bench -p workbench --bench ride`.

use divan::counter::ItemsCount;
use quantity::{Acceleration, Length, Quantity, Speed, Time};
use workbench::fact::{Distribution, Side, list};
use workbench::job::Job;
use workbench::ride::bike::{Load, Rider, Weather};
use workbench::ride::course::{Course, Point, Wishes, traffic};
use workbench::ride::options::Options;
use workbench::ride::run::ride;
use workbench::ride::{ensemble, study};

fn main() {
    divan::main();
}

fn job() -> Job {
    let mut job = Job::new("1", "bench", 1);
    job.kind = Some("hill".to_owned());
    for (id, value) in [
        (list::VOLTAGE_RATING.id(), 90.0),
        (list::CELLS_SERIES.id(), 14.0),
        (list::CLUTCH_MEMBER.id(), 1.0),
        (list::CHARGING_PLUG.id(), 0.0),
        (list::CHARGE_LIMIT_KEPT_BY.id(), 0.0),
        (list::CELL_CAPACITY.id(), quantity::Charge::ampere_hours(30.0).si()),
        (list::ARM_SIDE.of(0), 0.0),
    ] {
        job.choose(id, value, Distribution::Exact, "bench");
    }
    for side in Side::BOTH {
        job.choose(list::FREE_THREAD.of(side), 0.011, Distribution::Exact, "bench");
    }
    workbench::kinds::fill(&mut job, &[]);
    job
}

/// 100 km of hills of 40 m, 2 km from top to top, a stop every 2 km.
fn course() -> Course {
    let points: Vec<Point> = (0..=1000)
        .map(|i| {
            let at = 100.0 * f64::from(i);
            let height = 300.0 + 20.0 * (at * core::f64::consts::TAU / 2000.0).cos();
            Point { at: Length::metres(at), height: Length::metres(height), wish: None }
        })
        .collect();
    let wishes = Wishes {
        cruise: Speed::kilometres_per_hour(22.0),
        downhill: Speed::kilometres_per_hour(28.0),
        slowing: Acceleration::metres_per_second_squared(1.0),
    };
    let stops = traffic(Length::metres(1e5), 0.5, Time::seconds(15.0));
    Course::new(&points, &[], &stops, &wishes).unwrap()
}

#[divan::bench(sample_count = 20, args = [true, false])]
fn a_step(bencher: divan::Bencher<'_, '_>, locked: bool) {
    let bike = study::middle_bike(&job(), &Options::read(&[]).unwrap(), Load::Usual).unwrap().with_clutch(locked);
    let weather = Weather { air_c: 18.0, pack_c: 18.0, density_kg_m3: 1.2, head_wind_m_s: 0.0, grip: 0.7 };
    let course = course();
    let steps = ride(&bike, &Rider::EVERYDAY, &weather, &course, 0.0).unwrap().steps;
    bencher
        .counter(ItemsCount::new(steps))
        .bench(|| ride(divan::black_box(&bike), &Rider::EVERYDAY, &weather, &course, 0.0));
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn a_thousand_variants_of_100_km(bencher: divan::Bencher<'_, '_>) {
    let (job, course, options) = (job(), course(), Options::read(&[]).unwrap());
    bencher.counter(ItemsCount::new(1000_u32)).bench(|| ensemble::ensemble(&job, &course, &options, 1000, &|_| ()));
}
