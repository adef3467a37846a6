//! Threads against ISO 724, ISO 898-1 and FED-STD-H28/2B.

use physics::thread::{StripFit, Thread, ThreadedSection, arc_fraction, strip_areas, strip_forces};
use proptest::prelude::*;
use quantity::{Length, Stress};

fn mm(value: f64) -> Length {
    Length::millimetres(value)
}

fn thread(d: f64, p: f64) -> Thread {
    Thread::new(mm(d), mm(p)).expect("a real thread")
}

fn a12(bore: f64) -> ThreadedSection {
    ThreadedSection::new(thread(12.0, 1.25), Some(mm(10.0)), mm(bore)).expect("a real axle")
}

fn near(got: f64, want: f64, relative: f64) {
    assert!((got - want).abs() <= relative * want.abs(), "{got} is not {want}");
}

/// ISO 724 / ISO 68-1 sizes as computed in the reference table; half of the last printed digit.
#[test]
fn validates_thread_sizes() {
    for (d, p, d3) in [(5.0, 0.8, 4.0185), (8.0, 1.25, 6.4664), (12.0, 1.25, 10.4664), (14.0, 2.0, 11.5463)] {
        assert!((thread(d, p).root_diameter().as_millimetres() - d3).abs() <= 5e-5);
    }
    for (d, p, d2) in [(5.0, 0.8, 4.4804), (10.0, 1.25, 9.1881), (12.0, 1.75, 10.8633), (14.0, 1.5, 13.0257)] {
        assert!((thread(d, p).pitch_diameter().as_millimetres() - d2).abs() <= 5e-5);
    }
}

/// ISO 898-1:2013 tables 4 to 7, nominal stress areas (fine threads from memory); table rounding 0.5 %.
#[test]
fn validates_stress_area() {
    let rows = [
        (5.0, 0.8, 14.2),
        (8.0, 1.25, 36.6),
        (12.0, 1.75, 84.3),
        (14.0, 2.0, 115.0),
        (10.0, 1.0, 64.5),
        (12.0, 1.25, 92.1),
    ];
    for (d, p, area) in rows {
        near(thread(d, p).stress_area().as_square_millimetres(), area, 0.005);
    }
    // A textbook's 16 mm rows (Jindal, Machine Design, example 9-1), another form of the same formula.
    near(thread(16.0, 2.0).stress_area().as_square_millimetres(), 156.7, 0.1 / 156.7);
    near(thread(16.0, 1.5).stress_area().as_square_millimetres(), 167.2, 0.1 / 167.2);
}

/// PHYSICS-DETAIL T10 and E11: net section of the example axle.
#[test]
fn validates_t10_net_section() {
    near(a12(0.0).net_stress_area().as_square_millimetres(), 89.8, 0.002);
    near(a12(6.0).net_stress_area().as_square_millimetres(), 61.49, 0.002);
}

/// The net section against the area counted on a fine grid.
#[test]
fn validates_net_section_by_counting() {
    let (section, n, half) = (a12(6.0), 4000, 6.0);
    let radius = section.thread().stress_diameter().as_millimetres() / 2.0;
    let step = 2.0 * half / f64::from(n);
    let mut inside = 0_u32;
    for i in 0..n {
        for j in 0..n {
            let (x, y) = ((f64::from(i) + 0.5) * step - half, (f64::from(j) + 0.5) * step - half);
            let r2 = x * x + y * y;
            inside += u32::from(r2 <= radius * radius && r2 >= 9.0 && y.abs() <= 5.0);
        }
    }
    near(section.net_stress_area().as_square_millimetres(), f64::from(inside) * step * step, 0.001);
}

/// PHYSICS-DETAIL T10 and E11: strip areas over 8 mm, and the arc fractions of two axles.
#[test]
fn validates_t10_strip_areas() {
    let areas = strip_areas(a12(0.0), StripFit::basic(thread(12.0, 1.25)), mm(8.0)).expect("in range");
    near(areas.external.as_square_millimetres(), 155.9, 0.002);
    near(areas.internal.as_square_millimetres(), 165.5, 0.002);
    for (s, d, share) in [(10.0, 10.6468, 0.777), (10.0, 12.0, 0.627), (10.0, 12.3762, 0.599), (10.0, 14.0, 0.506)] {
        assert!((arc_fraction(mm(s), mm(d)).expect("in range").get() - share).abs() <= 0.0005);
    }
    let forces =
        strip_forces(a12(0.0), mm(8.0), Stress::megapascals(800.0), Stress::megapascals(500.0)).expect("in range");
    assert!(forces.least() == forces.internal, "the softer nut strips first");
}

/// FED-STD-H28/2B: (6b) and (2b) with basic sizes (0.1 %), (2a) with the limits of M10×1.5-6H/6g (0.3 %).
#[test]
fn validates_strip_area_per_length() {
    for (d, p, external, internal) in
        [(10.0, 1.0, 21.011, 27.489), (12.0, 1.25, 25.086, 32.987), (14.0, 1.5, 29.161, 38.485)]
    {
        let t = thread(d, p);
        let areas = strip_areas(ThreadedSection::solid(t), StripFit::basic(t), mm(1.0)).expect("in range");
        near(areas.external.as_square_millimetres(), external, 0.001);
        near(areas.internal.as_square_millimetres(), internal, 0.001);
    }
    let t = thread(10.0, 1.5);
    let fit = StripFit { external_major: mm(9.732), internal_pitch: mm(9.206), ..StripFit::basic(t) };
    let areas = strip_areas(ThreadedSection::solid(t), fit, mm(1.0)).expect("in range");
    near(areas.internal.as_square_millimetres(), 21.48, 0.003);
}

#[test]
fn a_size_that_cannot_be_is_refused_by_name() {
    assert_eq!(Thread::new(mm(12.0), mm(6.0)).expect_err("coarse").what, "thread-pitch");
    assert_eq!(Thread::new(mm(f64::NAN), mm(1.0)).expect_err("nan").what, "thread-diameter");
    let t = thread(12.0, 1.25);
    assert_eq!(ThreadedSection::new(t, Some(mm(12.5)), mm(0.0)).expect_err("wide").what, "across-flats");
    assert_eq!(ThreadedSection::new(t, Some(mm(10.0)), mm(11.0)).expect_err("bored out").what, "bore");
}

proptest! {
    /// Cutting away more never leaves more; more engagement never holds less.
    #[test]
    fn less_metal_never_holds_more(s in 8.0_f64..12.0, narrower in 0.0_f64..1.5, bore in 0.0_f64..6.0, l in 2.0_f64..12.0) {
        let t = thread(12.0, 1.25);
        let wide = ThreadedSection::new(t, Some(mm(s)), mm(bore)).unwrap();
        let slim = ThreadedSection::new(t, Some(mm(s - narrower)), mm(bore)).unwrap();
        prop_assert!(slim.net_stress_area() <= wide.net_stress_area());
        let (rm, nut) = (Stress::megapascals(800.0), Stress::megapascals(600.0));
        let (a, b) = (strip_forces(slim, mm(l), rm, nut).unwrap(), strip_forces(wide, mm(l + 1.0), rm, nut).unwrap());
        prop_assert!(a.external < b.external && a.internal < b.internal);
    }
}
