//! The page shows what the command line shows: both call the same functions, and what they get is the same to the bit.

mod common;

use common::Client;
use jobbook::{By, Edit};
use workbench::check::check;

fn bits(text: &str, rack: &str) -> Vec<u64> {
    let shop = intake::Shop { rack: intake::read_rack(rack).expect("a rack"), rules: intake::Rules::default() };
    let job = intake::read_job(text, &shop).expect("a job");
    let c = check(&job);
    let load = |l: &workbench::check::LinkResult| {
        let n = |x: Option<f64>| x.map_or(0, f64::to_bits);
        [
            n(l.load.map(|x| x.full)),
            n(l.load.map(|x| x.drive)),
            n(l.load.map(|x| x.brake)),
            n(l.load.map(|x| x.capacity)),
            l.chance.to_bits(),
        ]
    };
    c.links.iter().flat_map(load).collect()
}

/// A job that went out of the page as a file gives the command line's numbers, also after a change made in the page.
#[tokio::test]
async fn the_file_that_the_page_gives_out_has_the_numbers_that_the_page_shows() {
    let client = Client::demo();
    let rack = include_str!("../../../demo/rack.toml");
    let given = include_str!("../../../demo/0117-bread-longtail.toml");
    assert_eq!(client.get("/bikes/0117/job.toml").await.text, given, "an untouched job file comes out byte for byte");
    let sent = client
        .form(
            "/bikes/0117/facts",
            &[("f.axle.left.nut_torque", "72"), ("u.axle.left.nut_torque", "N·m"), ("how", "W2")],
        )
        .await;
    assert_eq!(sent.status, 303, "{}", sent.text);
    let out = client.get("/bikes/0117/job.toml").await.text;
    assert!(out.contains("nut_torque = \"72 N·m, chosen with W2\""), "{out}");
    assert_eq!(bits(&out, rack), bits(&given.replacen("80 N·m, chosen with W2", "72 N·m, chosen with W2", 1), rack));

    // What the page prints is what the command line prints of these numbers.
    let shop = intake::Shop { rack: intake::read_rack(rack).expect("a rack"), rules: intake::Rules::default() };
    let c = check(&intake::read_job(&out, &shop).expect("a job"));
    let page = client.get("/bikes/0117/holds").await.text;
    for l in &c.links {
        let Some(load) = l.load else { continue };
        let id = l.link.id();
        let row =
            page.split(&format!("data-watch=\"{id}\">")).nth(1).unwrap_or_else(|| panic!("{id} is not on the page"));
        let row = row.split("</span>").next().unwrap_or("");
        assert!(row.ends_with(&workbench::say::percent(load.full)), "{id}: {row}, {}", load.full);
    }
}

/// Two devices: different facts merge, the same fact is asked about, a change that is sent twice counts once.
#[tokio::test]
async fn two_people_on_two_devices_lose_nothing() {
    let client = Client::demo();
    let from = client.app.book.job("0117").expect("a job").revision;
    let by = By::new("Jossel Varn", "bench 2");
    client
        .app
        .book
        .set_values("0117/job", &[Edit::put("axle.left.nut_torque", "72 N·m, chosen with W2")], from, &by)
        .expect("written");
    let from = from.to_string();
    // Another fact, seen before Jossel's: merged.
    let form = [
        ("f.axle.right.nut_torque", "60"),
        ("u.axle.right.nut_torque", "N·m"),
        ("how", "W2"),
        ("from", &from),
        ("change", "bench1-0001"),
    ];
    assert_eq!(client.form("/bikes/0117/facts", &form).await.status, 303);
    // The same fact: both are shown, nothing is written.
    let form = [
        ("f.axle.left.nut_torque", "75"),
        ("u.axle.left.nut_torque", "N·m"),
        ("how", "W2"),
        ("from", &from),
        ("change", "bench1-0002"),
    ];
    let clash = client.form("/bikes/0117/facts", &form).await;
    assert_eq!(clash.status, 409);
    for part in ["Jossel Varn", "bench 2", "72 N·m", "75 N·m"] {
        assert!(clash.text.contains(part), "{part} is missing: {}", clash.text);
    }
    let text = client.get("/bikes/0117/job.toml").await.text;
    assert!(text.contains("\"72 N·m, chosen with W2\"") && text.contains("\"60 N·m, chosen with W2\""));
    // Keep mine, on the revision that the page named; sent twice.
    let revision = clash
        .text
        .split("name=\"from\" value=\"")
        .nth(1)
        .and_then(|r| r.split('"').next())
        .expect("a revision")
        .to_owned();
    let form = [
        ("f.axle.left.nut_torque", "75"),
        ("u.axle.left.nut_torque", "N·m"),
        ("how", "W2"),
        ("from", &revision),
        ("change", "bench1-0003"),
        ("resend", "1"),
    ];
    assert_eq!(client.form("/bikes/0117/facts", &form).await.status, 303);
    let after = client.app.book.job("0117").expect("a job").revision;
    assert_eq!(client.form("/bikes/0117/facts", &form).await.status, 303);
    assert_eq!(client.app.book.job("0117").expect("a job").revision, after, "sent twice, counted once");
    assert!(client.get("/bikes/0117/job.toml").await.text.contains("\"75 N·m, chosen with W2\""));
}

/// 13 inputs from an empty stand to a verdict with its honesty line.
#[tokio::test]
async fn twelve_questions_give_a_verdict() {
    let client = Client::demo();
    let new = client.form("/new", &[("kind", "hill"), ("name", "Test")]).await;
    let mut at = new.header("location");
    let bike = at.split('/').nth(2).expect("a number").to_owned();
    let answers: [&[(&str, &str)]; 11] = [
        &[("f.bike.frame_material+axle.left.dropout_material+axle.right.dropout_material", "steel")],
        &[
            ("f.axle.diameter", "12"),
            ("u.axle.diameter", "mm"),
            ("f.axle.across_flats", "10,00"),
            ("u.axle.across_flats", "mm"),
            ("how", "C1"),
        ],
        &[
            ("f.axle.left.dropout_thickness+axle.right.dropout_thickness", "6.0"),
            ("u.axle.left.dropout_thickness+axle.right.dropout_thickness", "mm"),
            ("f.axle.left.slot_width+axle.right.slot_width", "0.4"),
            ("u.axle.left.slot_width+axle.right.slot_width", "in"),
            ("how", "C1"),
        ],
        &[("f.axle.left.faces+axle.right.faces", "painted")],
        &[
            ("f.axle.left.nut_torque+axle.right.nut_torque", "40"),
            ("u.axle.left.nut_torque+axle.right.nut_torque", "N·m"),
            ("how", "W2"),
        ],
        &[("f.arms.left", "slotted"), ("f.arms.right", "none")],
        &[
            ("f.axle.left.free_thread+axle.right.free_thread", "11"),
            ("u.axle.left.free_thread+axle.right.free_thread", "mm"),
            ("how", "C1"),
        ],
        &[
            ("f.controller.hardware_current+settings.drive_current", "70"),
            ("u.controller.hardware_current+settings.drive_current", "A"),
            ("how", "plate"),
        ],
        &[
            ("f.battery.cells_series", "14"),
            ("f.controller.voltage_rating", "90"),
            ("u.controller.voltage_rating", "V"),
            ("f.battery.charging_through_discharge_plug", "in-writing"),
            ("how", "plate"),
        ],
        &[
            ("f.bike.wheel_radius", "0.332"),
            ("u.bike.wheel_radius", "m"),
            ("f.bike.lightest", "109"),
            ("u.bike.lightest", "kg"),
            ("f.bike.heaviest", "199"),
            ("u.bike.heaviest", "kg"),
            ("how", "measured"),
        ],
        &[
            ("f.bike.steepest_descent", "7"),
            ("u.bike.steepest_descent", "%"),
            ("f.bike.downhill_speed", "35"),
            ("u.bike.downhill_speed", "km/h"),
            ("how", "measured"),
        ],
    ];
    for (k, answer) in answers.iter().enumerate() {
        assert_eq!(at, format!("/bikes/{bike}/measure/quick/{}", k + 1));
        let page = client.get(&at).await.text;
        for (name, _) in answer.iter().filter(|(n, _)| n.starts_with("f.")) {
            assert!(page.contains(&format!("name=\"{name}\"")), "{at} does not ask {name}");
        }
        let then =
            page.split("name=\"then\" value=\"").nth(1).and_then(|r| r.split('"').next()).expect("next").to_owned();
        let form: Vec<(&str, &str)> = answer.iter().copied().chain([("then", then.as_str())]).collect();
        let sent = client.form(&format!("/bikes/{bike}/facts"), &form).await;
        assert_eq!(sent.status, 303, "{at}: {}", sent.text);
        at = sent.header("location");
    }
    let result = client.get(&at).await.text;
    assert!(result.contains("Won&#39;t hold") || result.contains("Won't hold"), "{result}");
    assert!(result.contains("found out") && result.contains("assumed"), "{result}");
    let file = client.get(&format!("/bikes/{bike}/job.toml")).await.text;
    assert!(file.contains("slot_width = \"0.4 in, measured with C1\""), "{file}");
    assert!(file.contains("across_flats = \"10.00 mm, measured with C1\""), "{file}");
}

/// What cannot be meant is asked back with what could be.
#[tokio::test]
async fn implausible_numbers_are_asked_back() {
    let client = Client::demo();
    let form = [("f.axle.across_flats", "100"), ("u.axle.across_flats", "mm"), ("how", "C1")];
    let asked = client.form("/bikes/0117/facts", &form).await;
    assert_eq!(asked.status, 422);
    assert!(asked.text.contains("value=\"10 mm\""), "{}", asked.text);
    let form = [("f.axle.across_flats", "10 mm"), ("u.axle.across_flats", "mm"), ("how", "C1")];
    assert_eq!(client.form("/bikes/0117/facts", &form).await.status, 303, "the suggestion is taken as it stands");
    for (typed, status) in
        [("1,234", 422), ("1.2,3", 422), ("ten", 422), ("-5", 422), ("10,1", 303), ("9.8 to 10.0", 303)]
    {
        let form = [("f.axle.across_flats", typed), ("u.axle.across_flats", "mm"), ("how", "C1")];
        assert_eq!(client.form("/bikes/0117/facts", &form).await.status, status, "{typed}");
    }
}

/// Each single fault is a world of its own, reached by plain links, with the fault's own number.
#[tokio::test]
async fn single_faults_are_worlds_to_switch_to() {
    let client = Client::demo();
    let page = client.get("/bikes/0117/holds").await.text;
    let faults: Vec<&str> = page.split("/bikes/0117/holds?if=").skip(1).filter_map(|r| r.split('"').next()).collect();
    for wanted in
        ["left-nut-slack", "right-nut-slack", "arm-1-arm-gone", "wires-shorted", "battery-out", "pack-cuts-out"]
    {
        assert!(faults.contains(&wanted), "{wanted}: {faults:?}");
    }
    let job = intake::read_job(&client.get("/bikes/0117/job.toml").await.text, &Default::default());
    let job = job.or_else(|_| {
        let rack = intake::read_rack(include_str!("../../../demo/rack.toml")).unwrap_or_default();
        intake::read_job(
            &client.app.book.job("0117").expect("a job").text,
            &intake::Shop { rack, ..Default::default() },
        )
    });
    let check = workbench::check::check(&job.expect("a job"));
    for id in faults {
        let world = client.get(&format!("/bikes/0117/holds?if={id}")).await;
        assert_eq!(world.status, 200);
        let l = check.links.iter().find(|l| l.link.id() == id).expect("a link");
        let full = workbench::say::percent(l.load.expect("a number").full);
        let box_ =
            world.text.split("verdict world").nth(1).and_then(|r| r.split("</section>").next()).expect("a result");
        assert!(box_.contains(&full), "{id}: {full} is not in {box_}");
        assert!(world.text.contains("Lets go") && world.text.contains("Carries it now"), "{id}");
        assert_eq!(world.text.matches("aria-current=\"true\"").count(), 1, "{id}");
    }
    // A fault that this bike cannot have is no world.
    for none in ["arm-7-arm-gone", "faces", "%3Cscript%3E"] {
        assert!(!client.get(&format!("/bikes/0117/holds?if={none}")).await.text.contains("verdict world"), "{none}");
    }
}
