//! The day of the demo shop in a real browser, up to the consent: an empty book, two devices, a lost link.

use e2e::{Bench, DEMO, Device, browser_or_skip};

/// 08:10 to 09:20 with quote and consent, and the left nut typed while the link is down.
#[tokio::test(flavor = "multi_thread")]
async fn a_day_at_the_stand() {
    if !browser_or_skip("a_day_at_the_stand") {
        return;
    }
    let mut bench = Bench::open(false).await;
    let one = Device::start(1024, 768).await;
    let two = Device::start(768, 1024).await;
    one.belongs_to(&bench, "Jossel Varn", "bench 1").await;
    two.belongs_to(&bench, "Mirra Stobel", "bench 2").await;

    // 08:10: the empty book has one door; No. 1 comes in, locked by somebody.
    one.open(&bench, "/").await;
    one.press("+ New bike").await;
    one.wait_for("Which hub is it?").await;
    one.fill("name", "Bread longtail No. 1").await;
    one.choose("why", "found-locked").await;
    one.press("Rear, strong, geared").await;
    one.wait_at("/measure/quick/1").await;
    // The other device's stand shows it by itself.
    two.wait_for("Bread longtail No. 1").await;

    // 08:30: twelve questions, with gloves; 08:36: the first answer.
    one.choose("f.bike.frame_material+axle.left.dropout_material+axle.right.dropout_material", "steel").await;
    one.press("Save").await;
    one.wait_at("/quick/2").await;
    one.fill("f.axle.diameter", "12").await;
    one.fill("f.axle.across_flats", "9,98").await;
    one.press("Save").await;
    one.wait_at("/quick/3").await;
    one.fill("f.axle.left.dropout_thickness+axle.right.dropout_thickness", "6.0").await;
    one.fill("f.axle.left.slot_width+axle.right.slot_width", "10.30").await;
    one.press("Save").await;
    one.wait_at("/quick/4").await;
    one.choose("f.axle.left.faces+axle.right.faces", "painted").await;
    one.press("Save").await;
    one.wait_at("/quick/5").await;
    one.fill("f.axle.left.nut_torque+axle.right.nut_torque", "40").await;
    one.choose("how", "W0").await;
    one.press("Save").await;
    one.wait_at("/quick/6").await;
    one.choose("f.arms.left", "slotted").await;
    one.press("Save").await;
    one.wait_at("/quick/7").await;
    one.press("Don't know").await;
    one.wait_at("/quick/8").await;
    one.fill("f.controller.hardware_current+settings.drive_current", "70").await;
    one.press("Save").await;
    one.wait_at("/quick/9").await;
    one.fill("f.battery.cells_series", "14").await;
    one.fill("f.controller.voltage_rating", "90").await;
    one.choose("f.battery.charging_through_discharge_plug", "in-writing").await;
    one.press("Save").await;
    one.wait_at("/quick/10").await;
    one.press("Skip").await;
    one.wait_at("/quick/11").await;
    one.fill("f.bike.steepest_descent", "7").await;
    one.fill("f.bike.downhill_speed", "35").await;
    one.press("Save").await;
    one.wait_at("/quick-result").await;
    one.wait_for("Won't hold").await;
    one.wait_for("rocks").await;
    one.wait_for("assumed for this kind of hub").await;

    // 08:50: both change the left nut; the second sees both values.
    one.open(&bench, "/bikes/0001/measure/30").await;
    two.open(&bench, "/bikes/0001/measure/30").await;
    two.fill("f.axle.left.nut_torque", "72").await;
    two.choose("how", "W2").await;
    one.fill("f.axle.left.nut_torque", "80").await;
    one.choose("how", "W2").await;
    two.press("Save").await;
    two.wait_at("/measure/31").await;
    one.wait_for("Mirra Stobel on bench 2 changed something here").await;
    one.press("Save").await;
    one.wait_for("Two of you wrote this").await;
    one.wait_for("72 N·m").await;
    one.press("Keep mine: 80 N·m, chosen with W2").await;
    one.wait_at("/measure/31").await;
    assert!(bench.app.book.job("0001").expect("a job").text.contains("80 N·m, chosen with W2"));
    // Both stand in the history.
    two.open(&bench, "/bikes/0001/history").await;
    let history = two.text().await;
    assert!(history.contains("72 N·m") && history.contains("80 N·m, chosen with W2"), "{history}");

    // 09:20: what would fix it, side by side.
    two.open(&bench, "/bikes/0001/holds").await;
    two.wait_for("What would fix it").await;
    two.wait_for("Measure next").await;

    // 09:20: the quote with its choices side by side, taken at the desk; the other device sees it by itself.
    one.open(&bench, "/bikes/0001/quote").await;
    one.wait_for("Choice A").await;
    one.wait_for("Choice B").await;
    two.open(&bench, "/bikes/0001/quote").await;
    two.wait_for("Choice A").await;
    let a = one.text().await.contains("Take A, against advice");
    one.press(if a { "Take A, against advice" } else { "Take A" }).await;
    one.wait_for("Quote 0001-1, choice A").await;
    two.wait_for("Quote 0001-1, choice A").await;
    // Both write in it; different lines merge.
    one.fill("a.deposit", "75").await;
    two.fill("a.remark", "Ansa brings No. 2 on Thursday").await;
    one.press("Save").await;
    one.wait_for("Quote 0001-1").await;
    two.wait_for("Jossel Varn on bench 1 changed something here").await;
    two.press("Save").await;
    two.wait_for("Quote 0001-1").await;
    // The answer is there when the form was made anew with what it wrote.
    let answered = "return document.querySelector('[name=\"o.remark\"]')?.value.length ?? 0";
    for _ in 0..100 {
        if two.number(answered).await > 0.5 {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    let kept = bench.app.book.document("0001/quote").expect("read").expect("a quote").text;
    assert!(kept.contains("deposit = \"75\"") && kept.contains("Thursday"), "{kept}");
    // Accepted on the tablet, drawn with a finger; an empty field is no signature.
    two.open(&bench, "/bikes/0001/quote").await;
    two.fill("signer", "Ansa Perrol").await;
    two.press("Accept this quote").await;
    two.wait_for("The field for the signature is empty").await;
    two.open(&bench, "/bikes/0001/quote").await;
    two.sign("Ansa Perrol").await;
    two.press("Accept this quote").await;
    two.wait_for("Signed by Ansa Perrol on the screen").await;
    one.wait_for("Signed by Ansa Perrol on the screen").await;
    let files = bench.app.book.attachments("0001").expect("files");
    assert!(files.len() == 1 && files[0].personal && files[0].size_bytes > 300, "{files:?}");
    // Consent on the tablet, sentence by sentence; the desk reads along.
    two.open(&bench, "/bikes/0001/consent").await;
    one.open(&bench, "/bikes/0001/consent").await;
    two.fill("a.found", "Rear pads gone").await;
    two.press("Save").await;
    two.wait_for("Found on arrival: Rear pads gone").await;
    for left in (0..7).rev() {
        two.press_one(if left == 1 { "I will come: 6" } else { "I understand: " }).await;
        two.wait_for(&if left == 0 { "All sentences".to_owned() } else { format!("{left} sentences are still open") })
            .await;
    }
    one.wait_for("All sentences").await;
    two.sign("Ansa Perrol").await;
    // What somebody else writes meanwhile does not wipe what is being drawn.
    one.open(&bench, "/bikes/0001/talk").await;
    one.fill("a.note", "Comes on Friday").await;
    one.press("Save").await;
    two.wait_for("Jossel Varn on bench 1 changed something here").await;
    two.press("Sign the consent").await;
    two.wait_for("Signed by Ansa Perrol on the screen").await;
    two.open(&bench, "/bikes/0001/consent/sheet").await;
    two.wait_for("[I will come: yes]").await;

    // A lever is tried, the picture follows, nothing is kept until it is said.
    two.open(&bench, "/bikes/0001/holds/left-faces").await;
    let before = bench.app.book.job("0001").expect("a job").revision;
    two.wait_for("What would change it").await;
    two.press("+").await;
    two.wait_for("Tried, not kept.").await;
    assert_eq!(bench.app.book.job("0001").expect("a job").revision, before);
    two.press("Back").await;
    two.wait_at("/holds/left-faces").await;

    // The link goes; three values are typed all the same, said to be unsent, and sent when it is back.
    two.open(&bench, "/bikes/0001/measure/27").await;
    bench.vanish().await;
    two.fill("f.axle.left.free_thread", "11.4").await;
    two.press("Save").await;
    two.wait_for("1 not yet sent").await;
    two.fill("f.axle.left.free_thread", "11.2").await;
    two.press("Save").await;
    two.wait_for("2 not yet sent").await;
    two.fill("f.axle.left.nut_height", "9.8").await;
    two.press("Save").await;
    two.wait_for("3 not yet sent").await;
    assert!(two.text().await.contains("No link to the shop's computer"));
    bench.come_back().await;
    two.wait_for("3 sent").await;
    let text = bench.app.book.job("0001").expect("a job").text;
    assert!(text.contains("free_thread = \"11.2 mm") && text.contains("nut_height = \"9.8 mm"), "{text}");
    let changes = bench.app.book.history("0001").expect("a history");
    let sent = changes.iter().filter(|c| c.values.iter().any(|v| v.key == "axle.left.free_thread")).count();
    assert_eq!(sent, 2, "each unsent change was written once");
    one.stop().await;
    two.stop().await;
}

/// 10:00: Dov is refused in four sentences; 11:15: Kell sees the strip of the Cinder Stair; a ride of days is stopped.
#[tokio::test(flavor = "multi_thread")]
async fn a_refusal_and_a_hill() {
    if !browser_or_skip("a_refusal_and_a_hill") {
        return;
    }
    let bench = Bench::open(true).await;
    let tablet = Device::start(768, 1024).await;
    tablet.belongs_to(&bench, "Mirra Stobel", "bench 2").await;
    tablet.open(&bench, "/bikes/0121/quote").await;
    tablet.wait_for("This bike is refused").await;
    tablet.press("The sheet that says no").await;
    tablet.wait_for("Why we don't").await;
    assert!(tablet.number("return document.querySelectorAll('.said li').length").await == 4.0);

    tablet.open(&bench, "/bikes/0124/hill").await;
    tablet.fill("descent", "9.1 %, 310 m").await;
    tablet.press("Take this descent").await;
    tablet.wait_for("With the clutch locked").await;
    let drawn = "const i = document.querySelectorAll('.strip-picture'); return i.length === 2 && [...i].every(p => p.complete && p.naturalWidth > 100) ? 1 : 0";
    for _ in 0..100 {
        if tablet.number(drawn).await > 0.5 {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    assert!(tablet.number(drawn).await > 0.5, "both strips are there");

    // A route of 1,500 km takes its time: the page shows how far it is, and the button stops it.
    let mut route = String::from("distance_m,height_m\n");
    for i in 0..3000 {
        route.push_str(&format!("{},{}\n", i * 500, 300 + (i % 4) * 10));
    }
    let by = jobbook::By::new("Jossel Varn", "bench 1");
    let file = jobbook::NewFile {
        name: "long.csv",
        media_type: "text/csv",
        slot: "route",
        personal: true,
        bytes: route.as_bytes(),
    };
    bench.app.book.attach("0117", &file, &by).expect("kept");
    bench.app.book.set_document("0117/hill", "route = \"long.csv\"\n", 0, &by).expect("written");
    tablet.open(&bench, "/bikes/0117/hill").await;
    tablet.wait_for("Worked out: ").await;
    let far = "return document.querySelector('progress')?.value ?? -1";
    let first = tablet.number(far).await;
    for _ in 0..200 {
        if tablet.number(far).await > first {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    assert!(tablet.number(far).await > first, "it moves by itself");
    tablet.press("Stop it").await;
    tablet.wait_for("Mirra Stobel stopped this ride.").await;
    tablet.stop().await;
}

/// The twelve questions in thirteen inputs, none of which needs scrolling on an upright tablet.
#[tokio::test(flavor = "multi_thread")]
async fn the_quick_path_needs_no_scrolling() {
    if !browser_or_skip("the_quick_path_needs_no_scrolling") {
        return;
    }
    let bench = Bench::open(false).await;
    let tablet = Device::start(768, 1024).await;
    tablet.open(&bench, "/new").await;
    let mut inputs = 0;
    loop {
        // What is asked and the buttons that answer it are all in sight.
        let lowest = tablet
            .number("return Math.max(...[...document.querySelectorAll('main form button:not([hidden]), main form input:not([type=hidden])')].map(e => e.getBoundingClientRect().bottom))")
            .await;
        assert!(lowest <= 1024.0, "{} reaches down to {lowest} px", tablet.path().await);
        assert!(tablet.number("return document.documentElement.scrollWidth").await <= 768.0);
        inputs += 1;
        let path = tablet.path().await;
        if path == "/new" {
            tablet.press("Rear, strong, geared").await;
            tablet.wait_at("/quick/1").await;
            continue;
        }
        let k: usize = path.rsplit('/').next().and_then(|k| k.parse().ok()).expect("a question");
        tablet.press("Don't know").await;
        if k == 11 {
            tablet.wait_at("/quick-result").await;
            break;
        }
        tablet.wait_at(&format!("/quick/{}", k + 1)).await;
    }
    assert!(inputs <= 13, "{inputs} inputs");
    tablet.wait_for("assumed for this kind of hub").await;
    tablet.stop().await;
}

/// A job file goes in at the page, shows its result, and a panel opens and closes by keys alone.
#[tokio::test(flavor = "multi_thread")]
async fn by_keys_alone() {
    if !browser_or_skip("by_keys_alone") {
        return;
    }
    use thirtyfour::prelude::*;
    let bench = Bench::open(true).await;
    assert_eq!(DEMO.len(), 5);
    let desk = Device::start(1280, 900).await;
    desk.open(&bench, "/bikes/0109/holds").await;
    desk.wait_for("All links as a table").await;
    let plate = desk.web.find(By::Css(".picture.wide a")).await.expect("a plate");
    plate.focus().await.expect("focus");
    let first = plate.attr("href").await.expect("an address").expect("an address");
    desk.web.action_chain().send_keys(Key::Right + Key::Enter).perform().await.expect("keys");
    desk.wait_for("Driving asks").await;
    let now = desk.path().await;
    assert!(now.starts_with("/bikes/0109/holds/") && !first.ends_with(&now), "{first} {now}");
    desk.web.action_chain().send_keys(Key::Escape + "").perform().await.expect("keys");
    desk.wait_at("/bikes/0109/holds").await;
    desk.stop().await;
}
