//! The verdict: rules of the trade as chances, laws over the whole input, and the same answer every time.

use physics::thread::{Thread, ThreadedSection};
use proptest::prelude::*;
use quantity::*;
use workbench::check::{self, State, Verdict};
use workbench::fact::{Distribution, Side, list};
use workbench::job::Job;
use workbench::link::{self, Kind, Off, Place, World};
use workbench::{doubt, kinds};

/// A hill hub with every fact assumed, and the four facts that are never assumed.
fn hill() -> Job {
    let mut job = Job::new("1", "test", 0);
    job.kind = Some("hill".to_owned());
    choose(&mut job, list::VOLTAGE_RATING.id(), 90.0);
    choose(&mut job, list::CELLS_SERIES.id(), 14.0);
    choose(&mut job, list::CLUTCH_MEMBER.id(), 1.0);
    choose(&mut job, list::CHARGING_PLUG.id(), 0.0);
    kinds::fill(&mut job, &[]);
    job
}

fn choose(job: &mut Job, id: workbench::fact::FactId, value_si: f64) {
    job.choose(id, value_si, Distribution::Exact, "test");
}

/// Common practice (PHYSICS-DETAIL T30): with bare faces, nuts at 80 N·m hold about 90 N·m in most bikes and nuts at
/// 40 N·m in almost none. Its draw: thread and nut friction lognormal about 0.13, holding friction about 0.15, deviation of
/// the logarithm 0.2, tool 2 %, loss 8 ± 1.5 kN a nut, one draw for both sides, nut radius 8.5 mm.
#[test]
fn validates_rule_of_the_trade() {
    for (torque, expected) in [(40.0, 0.001), (60.0, 0.30), (80.0, 0.93), (100.0, 0.998)] {
        let share = share_that_holds(torque, 90.0);
        assert!((share - expected).abs() <= 0.02, "{torque} N·m: {share} holds 90 N·m, not {expected}");
    }
}

fn share_that_holds(torque: f64, asked: f64) -> f64 {
    use physics::faces::{self, Face, NutMotion, OuterPath, PressureLaw};
    use physics::tightening::{self, Turning};
    let thread = Thread::new(Length::millimetres(12.0), Length::millimetres(1.25)).unwrap();
    let inner = Face::new(Length::millimetres(12.5), Length::millimetres(20.0), None).unwrap();
    let outer = Face::new(Length::millimetres(12.5), Length::millimetres(24.0), None).unwrap();
    let n = 8192;
    // Five independent normal draws, by the crate's own sampler.
    let mut points = vec![0.0; n * 5];
    doubt::sobol::Sequence::new(5, 0).fill(0, &mut points);
    let mut held = 0;
    for p in points.chunks_exact(5) {
        let z: Vec<f64> = p.iter().map(|u| doubt::normal_quantile(*u)).collect();
        let mu_t = Friction::new(0.13 * (0.2 * z[0]).exp());
        let mu_n = Friction::new(0.13 * (0.2 * z[1]).exp());
        let mu = Friction::new(0.15 * (0.2 * z[2]).exp());
        let nut_radius = Length::millimetres(8.5);
        let turning =
            Turning { thread, thread_friction: mu_t, face_friction: mu_n, face_mean_diameter: nut_radius * 2.0 };
        let fresh = tightening::preload(&turning, Torque::newton_metres(torque * (1.0 + 0.02 * z[3]))).unwrap();
        let clamp = tightening::preload_after_loss(fresh, Force::newtons((8000.0 + 1500.0 * z[4]).max(0.0))).unwrap();
        let path = OuterPath {
            thread,
            thread_friction: mu_t,
            nut_friction: mu_n,
            nut_radius,
            washer_friction: mu,
            washer_radius: outer.friction_radius(PressureLaw::Even),
            locker: Torque::ZERO,
            keyed_without_play: false,
        };
        let within = faces::face_hold(mu, clamp, inner.friction_radius(PressureLaw::Even)).unwrap();
        let out = |motion| faces::outer_hold(&path, clamp, motion).unwrap().torque;
        let total = within * 2.0 + out(NutMotion::Tightens) + out(NutMotion::Loosens);
        held += usize::from(total.as_newton_metres() >= asked);
    }
    held as f64 / n as f64
}

#[test]
fn quantile_of_the_normal_matches_published_points() {
    // Abramowitz and Stegun, table 26.1 (from memory): 97.5 %, 99.9 %, 99.99 %.
    for (u, z) in
        [(0.975, 1.959_963_984_540_054), (0.999, 3.090_232_306_167_813), (0.9999, 3.719_016_485_455_709), (0.5, 0.0)]
    {
        assert!((doubt::normal_quantile(u) - z).abs() < 1e-12);
        assert!((doubt::normal_quantile(1.0 - u) + z).abs() < 1e-9);
    }
}

#[test]
fn same_job_same_answer() {
    let job = hill();
    let once = check::check(&job);
    let again = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap().install(|| check::check(&job));
    for (a, b) in once.links.iter().zip(&again.links) {
        assert_eq!(a.load.map(|l| l.full.to_bits()), b.load.map(|l| l.full.to_bits()), "{}", a.link.id());
    }
    assert_eq!(once.state_shares, again.state_shares);
}

#[test]
fn what_decides_safety_by_class_is_never_assumed() {
    for id in kinds::never_assumed() {
        for kind in kinds::KINDS {
            assert_eq!(kinds::assumed(id, Some(kind)), None);
        }
        let mut job = hill();
        job.facts[id.index()] = None;
        let c = check::check(&job);
        assert!(c.missing().contains(&id) && c.verdict >= Verdict::NotKnown);
    }
}

#[test]
fn painted_faces_and_forty_newton_metres_do_not_hold_a_strong_hub() {
    // Common practice: usual nut torques of about 40 N·m do not stop a strong hub's axle.
    let c = check::check(&hill());
    assert_eq!(c.verdict, Verdict::Fails);
    assert!(c.state > Some(State::Still));
}

#[test]
fn a_passed_hold_test_replaces_friction() {
    let mut job = hill();
    let axle = |job: &Job| check::check(job).links.into_iter().find(|l| l.link.kind == Kind::AxleHold).unwrap();
    let before = axle(&job);
    choose(&mut job, list::HOLD_TEST.id(), 250.0);
    let after = axle(&job);
    assert_eq!(before.verdict, Verdict::Fails);
    assert_eq!(after.verdict, Verdict::Holds);
}

/// A pull far above what the axle's end can stand contradicts the axle; one within it does not.
#[test]
fn a_hold_test_that_would_twist_the_axle_off_is_refused() {
    let mut job = hill();
    let clash = |job: &Job| workbench::conflict::find(job).iter().any(|c| c.key == "hold-test");
    choose(&mut job, list::HOLD_TEST.id(), 60.0);
    assert!(!clash(&job));
    choose(&mut job, list::HOLD_TEST.id(), 400.0);
    assert!(clash(&job));
}

#[test]
fn refused_jobs_say_so_whatever_the_sums_say() {
    let mut job = hill();
    choose(&mut job, list::CHARGING_PLUG.id(), 2.0);
    let c = check::check(&job);
    assert_eq!(c.verdict, Verdict::Refused);
    assert!(c.refused.iter().any(|r| r.id == "battery-port"));
}

/// Hold of the whole axle with every fact at its middle.
fn hold(job: &Job) -> f64 {
    let values = job.middle();
    World::new(&values, job.arms, &Off).first_slip().unwrap().as_newton_metres()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn more_nut_torque_never_lowers_the_hold(a in 20.0..70.0, more in 0.0..40.0) {
        let mut job = hill();
        let mut at = |t: f64| {
            for s in Side::BOTH { choose(&mut job, list::NUT_TORQUE.of(s), t); }
            hold(&job)
        };
        prop_assert!(at(a + more) >= at(a) - 1e-9);
    }

    #[test]
    fn more_current_never_asks_less(a in 5.0..80.0, more in 0.0..60.0) {
        let mut job = hill();
        let mut at = |i: f64| {
            choose(&mut job, list::BRAKE_CURRENT.id(), i);
            let values = job.middle();
            World::new(&values, 0, &Off).demand().unwrap().brake.as_newton_metres()
        };
        prop_assert!(at(a + more) >= at(a));
    }

    /// Any values within their ranges give a number or a stated reason, never a panic and never not-a-number.
    #[test]
    fn any_bike_gives_numbers_or_a_reason(seed in any::<u64>()) {
        let mut job = hill();
        job.arms = 1;
        job.facts.resize(workbench::fact::count(1), None);
        let mut state = seed;
        for i in 0..job.facts.len() {
            let Some(id) = workbench::fact::nth(i as u16) else { continue };
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let u = (state >> 11) as f64 / (1_u64 << 53) as f64;
            let (low, high) = workbench::fact::range(workbench::fact::definition(id));
            let whole = !matches!(workbench::fact::definition(id).shape, workbench::fact::Shape::Quantity { .. });
            let value = low + (high - low) * u;
            choose(&mut job, id, if whole { value.floor() } else { value });
        }
        let values = job.middle();
        let world = World::new(&values, 1, &Off);
        for l in link::plan(&job) {
            if let Ok(load) = link::load(&world, l) {
                prop_assert!(!load.full.is_nan() && load.full >= 0.0, "{}: {load:?}", l.id());
            }
        }
        let _ = world.state();
    }
}

#[test]
fn the_hollow_end_gets_its_own_lower_limit() {
    // PHYSICS-DETAIL E11: a 6 mm bore in M12×1.25 with 10 mm flats leaves 61.5 of 92.1 mm².
    let thread = Thread::new(Length::millimetres(12.0), Length::millimetres(1.25)).unwrap();
    let net = ThreadedSection::new(thread, Some(Length::millimetres(10.0)), Length::millimetres(6.0)).unwrap();
    assert!((net.net_stress_area().as_square_millimetres() - 61.49).abs() < 0.12);
    let mut job = hill();
    choose(&mut job, list::BORE.of(Side::Left), 0.0);
    for s in Side::BOTH {
        choose(&mut job, list::FREE_THREAD.of(s), 0.011);
    }
    let c = check::check(&job);
    let advice = workbench::advice::advise(&job, &c);
    let limit = |i: usize| advice.tighten[i].at_most.unwrap().as_newton_metres();
    assert!(limit(1) < limit(0));
    assert!(c.links.iter().any(|l| l.link.kind == Kind::Nut && l.link.place == Place::At(Side::Right)));
}

/// Torque points made from λ(i) = λ₀/(1 + c·i) give c back; points that contradict the flux are refused one by one.
#[test]
fn torque_points_tell_how_torque_droops() {
    let (n, eta, p, drag, flux, droop) = (4.6, 0.95, 8.0, 0.28, 0.0215, 1.0 / 315.0);
    let torque = |i: f64| n * eta * (1.5 * p * flux / (1.0 + droop * i) * i - drag);
    let mut job = Job::new("1", "points", 0);
    job.kind = Some("hill".to_owned());
    for (key, value) in [
        (list::REDUCTION.id(), n),
        (list::GEAR_EFFICIENCY.id(), eta),
        (list::POLE_PAIRS.id(), p),
        (list::DRAG_CONSTANT.id(), drag),
        (list::FLUX.id(), flux),
        (list::TORQUE_POINT.id(), torque(30.0)),
        (list::TORQUE_POINT_CURRENT.id(), 30.0),
        (list::TORQUE_POINT_2.id(), torque(60.0)),
        (list::TORQUE_POINT_2_CURRENT.id(), 60.0),
        (list::TORQUE_POINT_3.id(), torque(90.0)),
        (list::TORQUE_POINT_3_CURRENT.id(), 90.0),
    ] {
        choose(&mut job, key, value);
    }
    kinds::fill(&mut job, &[]);
    let found = job.get(list::DROOP).unwrap().as_per_ampere();
    assert!((found / droop - 1.0).abs() < 1e-9, "{found}");
    assert!(workbench::conflict::find(&job).iter().all(|c| c.key != "torque-flux"));
    choose(&mut job, list::TORQUE_POINT_3.id(), torque(90.0) / 2f64.sqrt());
    let clash = workbench::conflict::find(&job);
    assert_eq!(clash.iter().filter(|c| c.key == "torque-flux").count(), 1, "{clash:?}");
}

/// A charge limit set to what the pack takes fills it, at every speed, and rounding puts it not over.
#[test]
fn a_charge_limit_at_the_rating_is_full_and_no_more() {
    let mut job = hill();
    for (id, value_si) in [
        (list::CHARGE_LIMIT.id(), 14.0),
        (list::CHARGE_LIMIT_KEPT_BY.id(), 0.0),
        (list::CELL_CHARGE.id(), 2.0),
        (list::CELLS_PARALLEL.id(), 7.0),
        (list::ELECTRONICS_CHARGE.id(), 30.0),
        (list::BRAKE_CURRENT.id(), 60.0),
    ] {
        choose(&mut job, id, value_si);
    }
    for tenths in 85..125 {
        choose(&mut job, list::DOWNHILL_SPEED.id(), f64::from(tenths) / 10.0);
        let values = job.middle();
        let l = link::plan(&job).into_iter().find(|l| l.kind == Kind::ChargeAmps).unwrap();
        let full = link::load(&World::new(&values, job.arms, &Off), l).unwrap().full;
        assert!(full.to_bits() == 1f64.to_bits(), "{tenths}: {full}");
    }
}

/// Two hubs on one battery send twice the current into it; what nobody keeps rises to the controller's own limit.
#[test]
fn two_hubs_and_a_limit_that_nobody_keeps() {
    let full = |job: &Job, kind: Kind| {
        let values = job.middle();
        let l = link::plan(job).into_iter().find(|l| l.kind == kind).unwrap();
        link::load(&World::new(&values, job.arms, &Off), l).unwrap().full
    };
    let one = hill();
    let mut two = hill();
    choose(&mut two, list::POSITION.id(), 2.0);
    assert!((full(&two, Kind::ChargeAmps) / full(&one, Kind::ChargeAmps) - 2.0).abs() < 1e-12);
    let mut loose = hill();
    choose(&mut loose, list::BRAKE_CURRENT_KEPT_BY.id(), 3.0);
    assert!(full(&loose, Kind::AxleHold) > full(&one, Kind::AxleHold));
    assert!((full(&loose, Kind::MotorCurrent) - 1.0).abs() < 1e-12);
}

/// A working axle is at best just held: slip that wears nothing, and both washers keyed.
#[test]
fn a_working_axle_just_holds_only_when_it_wears_nothing() {
    let mut job = hill();
    job.arms = 1;
    job.facts.resize(workbench::fact::count(1), None);
    choose(&mut job, list::ARM_KIND.of(0), 1.0);
    choose(&mut job, list::ARM_SIDE.of(0), 0.0);
    for (key, value) in [
        (list::ARM_THICKNESS.of(0), 0.010),
        (list::ARM_YIELD.of(0), 900e6),
        (list::ARM_BEARING.of(0), 1200e6),
        (list::ARM_LENGTH.of(0), 0.2),
        (list::ANCHOR_DIAMETER.of(0), 0.010),
        (list::ANCHOR_TORQUE.of(0), 60.0),
        (list::ANCHOR_FRICTION.of(0), 0.2),
        (list::ARM_STIFFNESS.of(0), 90_000.0),
        (list::GEAR_EFFICIENCY.id(), 0.95),
        (list::DRIVE_CURRENT.id(), 22.0),
        (list::BRAKE_CURRENT.id(), 14.0),
        (list::HARDWARE_CURRENT.id(), 50.0),
    ] {
        choose(&mut job, key, value);
    }
    for s in Side::BOTH {
        choose(&mut job, list::NUT_TORQUE.of(s), 40.0);
        choose(&mut job, list::FREE_THREAD.of(s), 0.011);
        choose(&mut job, list::FACES.of(s), 0.0);
        job.facts[list::FACE_FRICTION.of(s).index()] = None;
        choose(&mut job, list::SETTLING.of(s), 8e-6);
        choose(&mut job, list::WASHER_KEYED.of(s), 1.0);
    }
    kinds::fill(&mut job, &[]);
    let axle = |job: &Job| {
        let c = check::check(job);
        let hold = c.links.iter().find(|l| l.link.kind == Kind::AxleHold).unwrap();
        (c.state, hold.verdict, hold.load.unwrap().full)
    };
    choose(&mut job, list::DRIVE_CURRENT.id(), 18.0);
    assert!(matches!(axle(&job), (Some(State::Still), Verdict::Holds, _)));
    choose(&mut job, list::DRIVE_CURRENT.id(), 30.0);
    let (state, verdict, full) = axle(&job);
    assert_eq!((state, verdict), (Some(State::Working), Verdict::Marginal));
    assert!(full > 1.0, "faces slip: {full}");
    let mut turning = job.clone();
    choose(&mut turning, list::WASHER_KEYED.of(Side::Left), 0.0);
    assert_eq!(axle(&turning).1, Verdict::Fails, "a washer turns its nut along");
    let mut soft = job.clone();
    choose(&mut soft, list::DRIVE_CURRENT.id(), 34.0);
    choose(&mut soft, list::BRAKE_CURRENT.id(), 36.0);
    choose(&mut soft, list::ARM_STIFFNESS.of(0), 300.0);
    assert_eq!(axle(&soft).1, Verdict::Fails, "a soft arm lets the faces wear");
}

/// Doubt never draws what cannot be: whatever is written, every draw lies within the range of its fact, and the share of
/// the draws below any value is that of the distribution cut to the range.
#[test]
fn draws_stay_within_what_a_fact_can_be() {
    let mut job = hill();
    let wide = Distribution::Normal { sigma: 0.05 };
    job.choose(list::GEAR_EFFICIENCY.id(), 0.95, wide, "0.95 ± 0.1");
    let draws = doubt::Draws::new(&job);
    let points = draws.points(16_384);
    let mut values = job.middle();
    let mut below = 0;
    for p in points.chunks_exact(draws.dimensions()) {
        draws.draw(p, &mut values);
        for (id, _) in draws.facts() {
            let (low, high) = workbench::fact::range(workbench::fact::definition(id));
            let v = values[id.index()];
            let slack = 1e-9 * high.abs();
            assert!((low - slack..=high + slack).contains(&v), "{}: {v}", workbench::fact::describe(id).1);
        }
        below += usize::from(values[list::GEAR_EFFICIENCY.id().index()] < 0.95);
    }
    // Φ(0)/Φ(1) = 0.5/0.841345: the truncated normal in closed form.
    assert!((below as f64 / 16_384.0 - 0.5 / 0.841_344_746).abs() < 1e-3, "{below}");
}
