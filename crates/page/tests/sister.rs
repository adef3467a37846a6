//! Why a bike is here changes what is taken over and what is asked.

mod common;

use axum::http::StatusCode;
use common::Client;
use workbench::fact::{self, Origin};

#[tokio::test]
async fn a_sister_takes_over_the_build_and_nothing_of_the_rider() {
    let client = Client::demo();
    let by = jobbook::By::new("Mirra Stobel", "bench 1");
    client.app.book.set_rider("0117", "name", "Ansa Perrol", 0, &by).expect("kept");
    client.app.book.set_rider("0117", "phone", "0555 0117", 1, &by).expect("kept");
    client.form("/bikes/0117/remarks", &[("group", "24"), ("remark", "scraped for Ansa Perrol")]).await;
    assert!(client.get("/new").await.text.contains("built like another bike"));
    let made = client.form("/new", &[("why", "sister"), ("of", "0117"), ("name", "Bread longtail No. 3")]).await;
    assert_eq!(made.status, StatusCode::SEE_OTHER, "{}", made.text);
    let number = made.header("location").split('/').nth(2).expect("a number").to_owned();
    let job = client.app.book.job(&number).expect("a job");
    assert_eq!((job.summary.kind, job.summary.of.as_deref()), (jobbook::Kind::Sister, Some("0117")));

    // Nothing of the rider: no name, no phone, no weight, no hill, no comment of the other file.
    for gone in
        ["Perrol", "0555", "bakery", "Bakery", "lightest", "downhill", "front_brake_alone", "notes", "hold_test", "#"]
    {
        assert!(!job.text.contains(gone), "{gone}: {}", job.text);
    }
    assert_eq!(job.rider, (0, String::new()));
    assert!(client.app.book.attachments(&number).expect("a list").is_empty());
    let names = client.app.book.document_names(&format!("{number}/")).expect("names");
    assert_eq!(names, [format!("{number}/card"), format!("{number}/job")]);

    // The build is there, as on the other bike; what nobody assumes is not.
    let shop = intake::Shop {
        rack: intake::read_rack(include_str!("../../../demo/rack.toml")).expect("a rack"),
        ..Default::default()
    };
    let here =
        intake::read_job(&job.text, &shop).unwrap_or_else(|e| panic!("{}", intake::render("sister", &job.text, &e)));
    let there = intake::read_job(&client.app.book.job("0117").expect("a job").text, &shop).expect("a job");
    assert_eq!(here.arms, there.arms);
    let mut copied = 0;
    for id in (0..fact::count(there.arms) as u16).filter_map(fact::nth) {
        let name = fact::describe(id).1;
        let Some(f) = here.fact(id) else { continue };
        assert_ne!(f.origin, Origin::Measured, "{name} was not measured on this bike");
        if f.tool.as_deref() == Some("as on 0117") {
            copied += 1;
            let other = there.fact(id).unwrap_or_else(|| panic!("{name} is not on 0117"));
            assert_eq!(f.origin, Origin::Assumed, "{name}");
            assert!((f.value - other.value).abs() <= 1e-6 * other.value.abs(), "{name}: {} {}", f.value, other.value);
        }
    }
    assert!(copied > 40, "{copied} values were taken over");
    for id in workbench::kinds::never_assumed() {
        assert!(here.fact(id).is_none(), "{:?}", fact::describe(id).1);
    }

    // The page says so, shows the other's value as a hint, and a measurement takes its place.
    let page = client.get(&format!("/bikes/{number}/measure")).await.text;
    assert!(page.contains(&format!("{copied} values stand as on bike 0117")), "{page}");
    let card = client.get(&format!("/bikes/{number}/measure/23")).await.text;
    assert!(card.contains("not measured on this bike (assumed, as on 0117)"), "{card}");
    let saved = [("f.axle.across_flats", "10.00"), ("u.axle.across_flats", "mm"), ("how", "C1")];
    assert_eq!(client.form(&format!("/bikes/{number}/facts"), &saved).await.status, StatusCode::SEE_OTHER);
    let text = client.app.book.job(&number).expect("a job").text;
    assert!(text.contains("across_flats = \"10.00 mm, measured with C1\""), "{text}");
    let page = client.get(&format!("/bikes/{number}/measure")).await.text;
    assert!(page.contains(&format!("{} values stand as on bike 0117", copied - 1)));
    // Saving a card without typing anything measures nothing.
    client.form(&format!("/bikes/{number}/facts"), &[("f.axle.diameter", ""), ("how", "C1"), ("do", "save")]).await;
    assert_eq!(client.app.book.job(&number).expect("a job").text, text);
}

#[tokio::test]
async fn a_sister_of_nobody_is_refused() {
    let client = Client::demo();
    let made = client.form("/new", &[("why", "sister"), ("of", "9999"), ("name", "x")]).await;
    assert_eq!(made.status, StatusCode::NOT_FOUND);
    assert_eq!(client.app.book.jobs().expect("a list").len(), 5);
}

#[tokio::test]
async fn each_kind_of_job_asks_its_own() {
    let client = Client::demo();
    let page = client.get("/new").await.text;
    for why in ["convert", "found-locked", "undo", "sister"] {
        assert!(page.contains(&format!("value=\"{why}\"")), "{why}");
    }
    for (why, locked, says) in [
        ("convert", false, None),
        ("found-locked", true, Some("No baseline: a locked hub")),
        ("undo", true, Some("Before opening: backward pull")),
    ] {
        let made = client.form("/new", &[("why", why), ("kind", "hill"), ("name", why)]).await;
        let number = made.header("location").split('/').nth(2).expect("a number").to_owned();
        let job = client.app.book.job(&number).expect("a job");
        assert_eq!(job.text.contains("clutch = \"locked, measured\""), locked, "{why}");
        let baseline = client.get(&format!("/bikes/{number}/measure/44")).await.text;
        for other in ["No baseline: a locked hub", "Before opening: backward pull", "Tests count for the bike"] {
            assert_eq!(baseline.contains(other), says == Some(other), "{why}: {other}");
        }
    }
}
