//! Axle section, lock, gears and spokes against PHYSICS-DETAIL section 4, textbooks and own simulation.

use physics::axle_section::*;
use physics::{gears, lock, wheel};
use proptest::prelude::*;
use quantity::{
    Angle, Force, Friction, Inertia, Length, Ratio, RotorTorque, Stress, Time, Torque, TorsionalStiffness, WheelTorque,
};

fn mm(value: f64) -> Length {
    Length::millimetres(value)
}
fn mpa(value: f64) -> Stress {
    Stress::megapascals(value)
}
fn nm(value: f64) -> Torque {
    Torque::newton_metres(value)
}
fn at_wheel(value: f64) -> WheelTorque {
    WheelTorque::newton_metres(value)
}
fn near(got: f64, want: f64, relative: f64) {
    assert!((got - want).abs() <= relative * want.abs(), "{got} is not {want}");
}
fn section(d: f64, s: f64, bore: f64) -> AxleSection {
    AxleSection::new(mm(d), Some(mm(s)), mm(bore)).unwrap()
}

/// PHYSICS-DETAIL T11 (1 %): 40 N·m on 12/10 mm, bore 0/5/6/7, against St-Venant solutions. The bound is never below
/// them; the estimate lies 0 to 2 % above.
#[test]
fn validates_t11_torsion() {
    for (bore, exact, bound) in [(0.0, 170.8, 203.7), (5.0, 181.1, 217.3), (6.0, 194.1, 234.1), (7.0, 221.0, 268.1)] {
        let got = torsion_bound(section(12.0, 10.0, bore), nm(40.0)).unwrap().as_megapascals();
        near(got, bound, 1e-3);
        assert!(got >= exact);
        let estimate = torsion_estimate(section(12.0, 10.0, bore), nm(40.0)).unwrap().as_megapascals();
        assert!(estimate > 0.995 * exact && estimate < 1.02 * exact, "{estimate} for {exact}");
    }
}

/// Own St-Venant solution by boundary collocation (70 terms, boundary residual 2·10⁻⁴; it returns the reference table's
/// 0.8214 at 0.1 within 0.2 %): the bound covers flats of any depth, the tube inscribed in them alone would not.
#[test]
fn validates_bound_for_shallow_flats() {
    for (depth, b) in [
        (0.01, 0.689),
        (0.02, 0.7097),
        (0.03, 0.7269),
        (0.05, 0.7557),
        (0.07, 0.7823),
        (0.1, 0.8225),
        (0.1667, 0.9199),
        (0.2, 0.9775),
        (0.3, 1.2009),
        (0.4, 1.543),
        (0.5, 2.1),
    ] {
        let shaft = section(20.0, 20.0 * (1.0 - depth), 0.0);
        assert!(torsion_bound(shaft, nm(1.0)).unwrap().as_megapascals() >= b);
        near(torsion_estimate(shaft, nm(1.0)).unwrap().as_megapascals(), b, 0.015);
    }
}

/// Roark 7e table 10.1 as evaluated in the reference table (1e-4), and its stresses at 40 N·m (0.5 %).
#[test]
fn validates_two_flat_shaft() {
    for (depth, b) in [(0.05, 0.7409), (0.1, 0.8197), (0.2, 0.9779), (0.3, 1.204), (0.4, 1.5525), (0.5, 2.1234)] {
        // Radius 10 mm and 1 N·m: τ in MPa is B.
        let got = two_flat_shear(section(20.0, 20.0 * (1.0 - depth), 0.0), nm(1.0)).unwrap().as_megapascals();
        assert!((got - b).abs() <= 1e-4, "{got} is not {b}");
    }
    for (d, s, tau) in [(12.0, 10.0, 170.5), (14.0, 10.0, 135.9), (10.0, 8.0, 312.9)] {
        near(two_flat_shear(section(d, s, 0.0), nm(40.0)).unwrap().as_megapascals(), tau, 5e-3);
    }
}

/// Roark K/r⁴ (1e-4) through the stiffness of a 10 mm radius, 1 m long, G 1 GPa: k = K/r⁴ · 10 N·m/rad.
#[test]
fn validates_stub_stiffness() {
    for (depth, k) in [(0.05, 1.5137), (0.1, 1.4282), (0.2, 1.1999), (0.3, 0.934), (0.4, 0.6689), (0.5, 0.4331)] {
        let s = section(20.0, 20.0 * (1.0 - depth), 0.0);
        let got = stub_stiffness(s, mm(1000.0), Stress::gigapascals(1.0)).unwrap().as_newton_metres_per_radian();
        assert!((got / 10.0 - k).abs() <= 1e-4, "{got} is not {k}");
    }
}

/// Gere, Mechanics of Materials: tube 60/80 mm, 4000 N·m: 58.205 MPa; solid 1.5 in, 250 lb·ft: 4527 psi.
#[test]
fn validates_tube_textbook() {
    let tube = AxleSection::new(mm(80.0), None, mm(60.0)).unwrap();
    near(torsion_bound(tube, nm(4000.0)).unwrap().as_megapascals(), 58.205, 1e-5);
    let shaft = AxleSection::new(Length::inches(1.5), None, mm(0.0)).unwrap();
    let psi = torsion_bound(shaft, Torque::foot_pounds(250.0)).unwrap().as_pascals() / 6894.757;
    near(psi, 4527.0, 0.5 / 4527.0);
}

/// PHYSICS-DETAIL M7: 60 N·m and 27 kN on the bored example axle: τ 291, σ 439 (thread), σ_vM 669 MPa by St-Venant.
/// The unthreaded section here has 7/6 of that area; the bound of the shear must still cover 669.
#[test]
fn validates_example_axle_under_tension() {
    let s = section(12.0, 10.0, 6.0);
    near(torsion_estimate(s, nm(60.0)).unwrap().as_megapascals(), 291.0, 0.02);
    let stress = |torque| combined_stress(s, nm(torque), Force::kilonewtons(27.0), nm(0.0)).unwrap().as_megapascals();
    assert!(stress(60.0) > 669.0 && stress(60.0) < 1.12 * 669.0);
    // The threaded place: root diameter 10.466, flats 10. Tension alone within 2 % of 439 (d3 is below the stress diameter).
    let thread = section(10.4664, 10.0, 6.0);
    let tension = combined_stress(thread, nm(0.0), Force::kilonewtons(27.0), nm(0.0)).unwrap().as_megapascals();
    assert!(tension > 439.0 && tension < 1.12 * 439.0, "{tension}");
}

/// A solid round shaft's plastic torque is 4/3 of the elastic one (any textbook of plasticity).
#[test]
fn validates_plastic_over_elastic() {
    let shaft = AxleSection::new(mm(12.0), None, mm(0.0)).unwrap();
    let plastic = plastic_torque(shaft, mpa(800.0)).unwrap();
    let elastic = hold_test_limit(shaft, mpa(800.0), Force::ZERO).unwrap() / 0.9;
    near(plastic / elastic, 4.0 / 3.0, 1e-12);
    // Bending alone of a solid round shaft: M/(π d³/32).
    let bent = combined_stress(shaft, nm(0.0), Force::ZERO, nm(10.0)).unwrap().as_megapascals();
    near(bent, 10e3 / (std::f64::consts::PI * 1728.0 / 32.0), 1e-12);
}

/// At the limit the stress by the separate formula is exactly 0.9 of yield; the workshop text's 89 N·m for a solid M12
/// of 800 MPa lies within the inscribed circle's bound (threaded, below) and the full section (above).
#[test]
fn validates_hold_test_limit() {
    let thread = section(10.4664, 10.0, 0.0);
    let limit = hold_test_limit(thread, mpa(800.0), Force::ZERO).unwrap();
    near(combined_stress(thread, limit, Force::ZERO, nm(0.0)).unwrap().as_megapascals(), 720.0, 1e-12);
    assert!(limit < nm(89.0));
    // Where the whole 12 mm shaft with flats carries it, 89 N·m is below first yield by St-Venant (170.8 MPa at 40 N·m).
    assert!(170.8 / 40.0 * 89.0 < 800.0 / 3.0_f64.sqrt());
}

/// Sadhu Singh, Machine Design I, example 4.3, p 105: 45.5 MPa.
#[test]
fn validates_endurance_limit() {
    let notch = notch_factor(Ratio::new(1.8), Ratio::new(0.86)).unwrap();
    let factors = Ratio::new(0.82 * 0.85 * 0.868 * 0.577);
    near(endurance_limit(mpa(440.0), factors, notch).unwrap().as_megapascals(), 45.5, 0.05 / 45.5);
}

/// The Goodman line passes through endurance limit and tensile strength.
#[test]
fn validates_goodman_ends() {
    let load =
        |a: f64, t: f64, s: f64| FatigueLoad { shear_amplitude: mpa(a), shear_mean: mpa(t), tension_mean: mpa(s) };
    let used = |l| fatigue_use(l, mpa(200.0), mpa(800.0)).unwrap().get();
    near(used(load(200.0 / 3.0_f64.sqrt(), 0.0, 0.0)), 1.0, 1e-12);
    near(used(load(0.0, 0.0, 800.0)), 1.0, 1e-12);
    near(used(load(0.0, 800.0 / 3.0_f64.sqrt(), 0.0)), 1.0, 1e-12);
}

/// Solutions manual to Budynas and Nisbett, Shigley's Mechanical Engineering Design (8th ed.), problem 7-1 (d), read:
/// bending 500 ± 600 lbf·in with K_f 2.2, torque 300 ± 400 lbf·in with K_fs 1.8, S_e 30 and S_ut 100 kpsi, factor 2:
/// 1.073 in by the Goodman line.
#[test]
fn validates_goodman_shaft() {
    let cubed = 1.073_f64 * 1.073 * 1.073;
    let kpsi = |value: f64| mpa(value * 6.894_757);
    let bending = |moment: f64| kpsi(2.2 * 32.0 * moment / (std::f64::consts::PI * cubed) / 1e3);
    let shear = |torque: f64| kpsi(1.8 * 16.0 * torque / (std::f64::consts::PI * cubed) / 1e3);
    let (bent, twisted) = (bending(600.0).as_megapascals(), shear(400.0).as_megapascals());
    let load = FatigueLoad {
        shear_amplitude: mpa((bent * bent / 3.0 + twisted * twisted).sqrt()),
        shear_mean: shear(300.0),
        tension_mean: bending(500.0),
    };
    // Half the last printed digit of the diameter, cubed.
    near(fatigue_use(load, kpsi(30.0), kpsi(100.0)).unwrap().get(), 0.5, 3.0 * 0.0005 / 1.073);
}

/// Sadhu Singh, Machine Design I, example 4.8, p 112 (read): torque −200 to +500 N·m, S_ut 500 MPa, factors 0.8, 0.85 and
/// 0.897 (0.577 for shear): 34 mm (34.35 exactly) at a factor of 2 by the amplitude alone; the Goodman line adds the mean.
#[test]
fn validates_reversing_torque_shaft() {
    let shear = |torque: f64| mpa(16e3 * torque / (std::f64::consts::PI * 34.35 * 34.35 * 34.35));
    let endurance = endurance_limit(mpa(500.0), Ratio::new(0.8 * 0.85 * 0.897), Ratio::new(1.0)).unwrap();
    let used = |mean| {
        let load = FatigueLoad { shear_amplitude: shear(350.0), shear_mean: mean, tension_mean: mpa(0.0) };
        fatigue_use(load, endurance, mpa(500.0)).unwrap().get()
    };
    near(used(mpa(0.0)), 0.5, 2e-3);
    assert!(used(shear(150.0)) > 0.55);
}

/// Brown, Marks' Calculations for Machine Design, section 7, example 3 (read): τ 36.2 ± 3.6 kpsi, S_e 6.2 kpsi in shear,
/// S_us 0.67·90 kpsi: 1/n = 1.181. Von Mises takes S_us = S_ut/√3, which is stricter, so ours lies above.
#[test]
fn validates_goodman_is_stricter_than_the_handbook() {
    let kpsi = |value: f64| mpa(value * 6.894_757);
    let load = FatigueLoad { shear_amplitude: kpsi(3.6), shear_mean: kpsi(36.2), tension_mean: mpa(0.0) };
    let ours = fatigue_use(load, kpsi(6.2 * 3.0_f64.sqrt()), kpsi(90.0)).unwrap().get();
    assert!(ours > 1.181);
    // With the handbook's shear strength in place of ours the two agree to its last digit.
    near(ours - 36.2 / 90.0 * (3.0_f64.sqrt() - 1.0 / 0.67), 1.181, 0.0005 / 1.181);
}

/// PHYSICS-DETAIL E12: N 5, 110 N·m, r 15, leg 3, full ring: 44.0 MPa between carrier and axle, 36.7 at the ring.
#[test]
fn validates_weld_example() {
    for (place, stress) in [(lock::LockPlace::CarrierToAxle, 44.0), (lock::LockPlace::RingToShell, 36.7)] {
        let torque = lock::lock_torque(at_wheel(110.0), Ratio::new(5.0), Ratio::new(0.95), place).unwrap();
        let got = lock::weld_shear(torque, mm(15.0), mm(3.0), lock::Weld::Ring).unwrap().as_megapascals();
        near(got, stress, 0.05 / stress);
    }
}

/// Planetary balance from tooth forces: sun radius 1, ring radius N, planets between; carrier takes both meshes.
#[test]
fn validates_lock_by_torque_balance() {
    let n = 5.0;
    let torque = |place| lock::lock_torque(at_wheel(100.0), Ratio::new(n), Ratio::new(1.0), place).unwrap();
    // Ring drives the shell with 100 N·m: mesh force 100/N at the ring, the same at the sun, arm (1+N)/2 at the carrier.
    let mesh = 100.0 / n;
    near(torque(lock::LockPlace::CarrierToAxle).as_newton_metres(), 2.0 * mesh * (1.0 + n) / 2.0, 1e-12);
    near(torque(lock::LockPlace::Rotor).as_newton_metres(), mesh, 1e-12);
    // Carrier drives the shell: ratio N = 1 + ring/sun, so ring = N − 1; carrier takes two mesh forces at (1 + ring)/2.
    let ring = n - 1.0;
    let mesh = 100.0 / (1.0 + ring);
    near(torque(lock::LockPlace::RingToAxle).as_newton_metres(), mesh * ring, 1e-12);
}

/// Circular fillet weld of 50 mm diameter, 2500 N·m at 140 MPa needs a throat of 4.547 mm (Bhandari form).
#[test]
fn validates_weld_textbook() {
    let leg = 4.547 / 0.707;
    near(lock::weld_shear(nm(2500.0), mm(25.0), mm(leg), lock::Weld::Ring).unwrap().as_megapascals(), 140.0, 2e-4);
    let tacks = |missing| lock::Weld::Tacks { number: 6, length: mm(5.0), missing };
    let stress = |w| lock::weld_shear(nm(100.0), mm(15.0), mm(3.0), w).unwrap().as_megapascals();
    near(stress(tacks(1)) / stress(tacks(0)), 6.0 / 5.0, 1e-12);
    assert!(lock::weld_shear(nm(1.0), mm(15.0), mm(3.0), tacks(6)).is_err(), "no tack is left");
}

/// Definitions: four 4 mm pins at 20 mm under 100 N·m carry 1250 N each; a 4 × 10 key at 10 mm 10 kN on 40 mm².
#[test]
fn validates_pin_and_key() {
    let pin = lock::pin_shear(nm(100.0), mm(20.0), mm(4.0), 4).unwrap().as_megapascals();
    near(pin, 1250.0 / 12.566_370_6, 1e-8);
    near(lock::key_shear(nm(100.0), mm(10.0), mm(4.0), mm(10.0)).unwrap().as_megapascals(), 250.0, 1e-12);
}

/// Shigley example 14-1 (0.5 %): 16 teeth, Y 0.296, pitch 8/in, face 1.5 in: 364.3 lbf times the velocity factor
/// (1200 + 628.3)/1200 gives 10 ksi.
#[test]
fn validates_lewis_example() {
    let y = gears::lewis_factor(Some(16)).unwrap();
    assert_eq!(y.get(), 0.296);
    let force = Force::newtons(364.3 * (1200.0 + 628.3) / 1200.0 * 4.448_222);
    let stress = gears::tooth_stress(force, Length::inches(1.5), Length::inches(1.0 / 8.0), y).unwrap();
    near(stress.as_pascals() / 6894.757, 10_000.0, 5e-3);
    assert_eq!(gears::lewis_factor(Some(12)).unwrap().get(), 0.245);
    assert_eq!(gears::lewis_factor(None).unwrap().get(), 0.485);
    assert_eq!(gears::lewis_factor(Some(11)).unwrap_err().what, "teeth");
}

/// A plastics maker's design guide, load at the pitch point: S = 1.7·F/(M·f): 100 N, module 1, 10 mm: 17.0 N/mm².
#[test]
fn validates_plastic_tooth_example() {
    let stress = gears::tooth_stress(Force::newtons(100.0), mm(10.0), mm(1.0), Ratio::new(1.0 / 1.7)).unwrap();
    near(stress.as_megapascals(), 17.0, 1e-12);
}

/// Three planets, 18 N·m on a 15 mm sun: the three forces' moment is the torque, and the worst takes K_γ more.
#[test]
fn validates_planet_share() {
    let force = |k| gears::planet_tooth_force(RotorTorque::newton_metres(18.0), mm(15.0), 3, Ratio::new(k)).unwrap();
    near(3.0 * force(1.0).as_newtons() * 0.015, 18.0, 1e-12);
    near(force(1.5) / force(1.0), 1.5, 1e-12);
}

fn k() -> TorsionalStiffness {
    TorsionalStiffness::newton_metres_per_radian(3000.0)
}

/// PHYSICS-DETAIL T25 (0.1 %): 222.4 N·m, 46.6 Hz.
#[test]
fn validates_t25_impact() {
    near(gears::reversal_peak(at_wheel(90.0), k(), Angle::degrees(1.0)).unwrap().as_newton_metres(), 222.4, 1e-3);
    let f = gears::drive_frequency(k(), Inertia::kilogram_square_metres(1.4e-3), Ratio::new(5.0)).unwrap();
    near(f.as_hertz(), 46.6, 1e-3);
}

/// Rotor, play and spring in small steps: peak torque of the spring after a ramp, damping ratio 0.05 in contact.
fn simulated_peak(torque: f64, play: f64, ramp: f64, damping_ratio: f64) -> f64 {
    let (j, k) = (1.4e-3 * 25.0, 3000.0);
    let c = 2.0 * damping_ratio * f64::sqrt(k * j);
    let (mut x, mut v, mut time, mut peak) = (0.0, 0.0, 0.0, 0.0_f64);
    let dt = 1e-6;
    while time < ramp + 0.2 {
        let drive = if time < ramp { torque * time / ramp } else { torque };
        let (spring, rub) = if x > play { (k * (x - play), c * v) } else { (0.0, 0.0) };
        v += (drive - spring - rub) / j * dt;
        x += v * dt;
        peak = peak.max(spring);
        time += dt;
    }
    peak
}

/// The step's formula against the undamped simulation, the ramp's bound against the damped one.
#[test]
fn validates_ramp_against_simulation() {
    let play = Angle::degrees(1.0);
    let f = gears::drive_frequency(k(), Inertia::kilogram_square_metres(1.4e-3), Ratio::new(5.0)).unwrap();
    let bound = |ramp: f64| {
        let peak = gears::ramped_reversal_peak(at_wheel(90.0), k(), play, Time::seconds(ramp), f);
        peak.unwrap().as_newton_metres()
    };
    near(bound(0.0), simulated_peak(90.0, play.as_radians(), 0.0, 0.0), 1e-3);
    for ramp in [0.02, 0.05, 0.108, 0.15, 0.3] {
        assert!(simulated_peak(90.0, play.as_radians(), ramp, 0.05) <= bound(ramp));
    }
    near(bound(0.15), 103.5, 1e-12);
}

/// Spoke's lever arm from the coordinates of its two ends: |x₁y₂ − x₂y₁| over its length.
#[test]
fn validates_spoke_lever_by_coordinates() {
    for (spokes, crosses, rim, flange) in [(36_u32, 3_u32, 300.0, 22.0), (36, 2, 280.0, 60.0), (28, 1, 200.0, 90.0)] {
        // On one flange of n/2 holes a spoke that crosses c others is c pairs of holes, 2c·(360°/(n/2)), away from radial.
        let turn = f64::from(crosses) * 2.0 * std::f64::consts::TAU / f64::from(spokes);
        let (x1, y1) = (rim, 0.0);
        let (x2, y2) = (flange * libm::cos(turn), flange * libm::sin(turn));
        let length = libm::hypot(x1 - x2, y1 - y2);
        let arm: f64 = f64::abs(x1 * y2 - x2 * y1) / length;
        let lacing = wheel::Lacing { spokes, crosses, rim_radius: mm(rim), flange_radius: mm(flange) };
        let change = wheel::spoke_tension_change(at_wheel(100.0), &lacing).unwrap().as_newtons();
        near(change * f64::from(spokes) * arm / 1e3, 100.0, 1e-9);
    }
    let radial = wheel::Lacing { spokes: 36, crosses: 0, rim_radius: mm(300.0), flange_radius: mm(30.0) };
    assert_eq!(wheel::spoke_tension_change(at_wheel(1.0), &radial).unwrap_err().what, "spoke-crosses");
}

/// Six screws of 2 kN at μ 0.1 on 50 mm: 1.2 kN of friction, 60 N·m.
#[test]
fn validates_cover_slip() {
    let torque = wheel::cover_slip_torque(Force::kilonewtons(2.0), Friction::new(0.1), 6, mm(50.0)).unwrap();
    near(torque.as_newton_metres(), 60.0, 1e-12);
}

#[test]
fn law_a_slack_spoke_is_refused() {
    let left = |change| wheel::spoke_tension_left(Force::newtons(900.0), Force::newtons(change));
    near(left(300.0).unwrap().as_newtons(), 600.0, 1e-12);
    assert_eq!(left(950.0).unwrap_err().what, "tension-change");
}

/// Names of formulas are unique and none is without its parts.
#[test]
fn every_formula_says_all() {
    let lists = [
        physics::thread::FORMULAS,
        physics::tightening::FORMULAS,
        physics::faces::FORMULAS,
        physics::flats::FORMULAS,
        physics::pinch::FORMULAS,
        physics::anchor::FORMULAS,
        physics::axle_state::FORMULAS,
        physics::axle_section::FORMULAS,
        lock::FORMULAS,
        gears::FORMULAS,
        wheel::FORMULAS,
    ];
    let mut names: Vec<_> = lists.iter().flat_map(|list| list.iter()).map(|f| f.name).collect();
    let all = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), all);
    for f in lists.iter().flat_map(|list| list.iter()) {
        assert!(
            [f.equation, f.source, f.valid, f.left_out, f.checked_by].iter().all(|part| !part.is_empty()),
            "{}",
            f.name
        );
    }
}

proptest! {
    /// More metal never means more stress; the bound never lies below the estimate.
    #[test]
    fn law_bound_covers_the_estimate(s in 8.0_f64..12.0, bore in 0.0_f64..5.5, more in 0.0_f64..1.0) {
        let torque = nm(40.0);
        let bound = torsion_bound(section(12.0, s, bore), torque).unwrap();
        prop_assert!(bound >= torsion_estimate(section(12.0, s, bore), torque).unwrap() * 0.999);
        prop_assert!(torsion_bound(section(12.0, s, bore + more), torque).unwrap() >= bound);
    }

    /// More tension leaves less torque in the hold test.
    #[test]
    fn law_tension_takes_from_the_hold_test(f in 0.0_f64..25.0, more in 0.0_f64..10.0) {
        let limit = |kn| hold_test_limit(section(12.0, 10.0, 6.0), mpa(800.0), Force::kilonewtons(kn)).unwrap();
        prop_assert!(limit(f + more) <= limit(f));
    }

    /// A step is never softer than the same torque with a ramp, and never below twice the torque.
    #[test]
    fn law_play_only_adds(t in 1.0_f64..200.0, play in 0.0_f64..3.0, ramp in 0.0_f64..0.5) {
        let play = Angle::degrees(play);
        let f = quantity::Frequency::hertz(46.6);
        let step = gears::reversal_peak(at_wheel(t), k(), play).unwrap();
        prop_assert!(step.as_newton_metres() >= 2.0 * t * (1.0 - 1e-12));
        prop_assert!(gears::ramped_reversal_peak(at_wheel(t), k(), play, Time::seconds(ramp), f).unwrap() <= step);
    }
}
