//! Draws a job's pictures: `draw JOB FORMAT THEME`.
fn main() {
    let args: Vec<String> = std::env::args().collect();
    let job = intake::load_job(std::path::Path::new(&args[1])).unwrap_or_else(|_| panic!("a job that can be read"));
    let check = workbench::check::check(&job);
    let format = match args[2].as_str() {
        "tall" => drawing::Format::Tall,
        "narrow" => drawing::Format::Narrow,
        _ => drawing::Format::Wide,
    };
    let theme = match args[3].as_str() {
        "print" => drawing::Theme::Print,
        _ => drawing::Theme::File,
    };
    if let Some(folder) = args.get(4) {
        let advice = workbench::advice::advise(&job, &check);
        let look = drawing::chart::Look {
            width: if args[2] == "narrow" { 360.0 } else { 760.0 },
            theme,
            ..Default::default()
        };
        let worst = check.worst_first().into_iter().find(|l| l.load.is_some()).and_then(drawing::chart::swings);
        let charts = [
            drawing::chart::ceiling(&advice.ceiling),
            drawing::chart::charge_current(&job),
            drawing::chart::chances(&check),
            drawing::chart::measure_next(&check, &advice.measure),
            drawing::chart::descent_heat(&job),
            worst,
        ];
        for chart in charts.into_iter().flatten() {
            std::fs::write(format!("{folder}/{}.svg", chart.id), chart.svg(&look)).expect("written");
            std::fs::write(format!("{folder}/{}.csv", chart.id), chart.csv()).expect("written");
        }
        let n = 900;
        let way: Vec<f64> = (0..n).map(|i| f64::from(i) * 0.01).collect();
        let height: Vec<f64> = way.iter().map(|x| 120.0 + 60.0 * (x * 1.1).sin() + 25.0 * (x * 2.7).cos()).collect();
        let slope = |i: usize| if i + 1 < n as usize { (height[i + 1] - height[i]) / 10.0 } else { 0.0 };
        let speed: Vec<f64> = (0..n as usize).map(|i| 22.0 - 120.0 * slope(i).clamp(-0.08, 0.1)).collect();
        let charge: Vec<f64> = way.iter().map(|x| 80.0 - 1.4 * x + 0.8 * (x * 1.1).cos()).collect();
        let brakes: Vec<_> = (0..n as usize)
            .map(|i| {
                if slope(i) < -0.06 {
                    drawing::chart::Brakes::Hands
                } else if slope(i) < -0.02 {
                    drawing::chart::Brakes::Motor
                } else {
                    drawing::chart::Brakes::Nobody
                }
            })
            .collect();
        let events = [
            drawing::chart::Event { at_km: 2.4, text: "Charge amps".into() },
            drawing::chart::Event { at_km: 7.9, text: "Winding heat".into() },
        ];
        let hill = drawing::chart::Hill {
            title: "The hill",
            about: "What the motor holds back, and where it cannot.",
            distance_km: &way,
            height_m: &height,
            speed_km_per_h: &speed,
            charge_percent: &charge,
            brakes: &brakes,
            events: &events,
        };
        std::fs::write(format!("{folder}/hill.svg"), hill.svg(&look)).expect("written");
        for id in drawing::measuring::all() {
            std::fs::write(format!("{folder}/m-{id}.svg"), drawing::measuring::svg(id, theme).expect("drawn"))
                .expect("written");
        }
        return;
    }
    print!(
        "{}",
        drawing::load_path(
            &job,
            &check,
            &drawing::Options {
                format,
                theme,
                heading: true,
                numbered: theme == drawing::Theme::Print,
                ..Default::default()
            }
        )
    );
}
