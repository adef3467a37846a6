//! The hill: a ride is worked out away from the request, says how far it is, can be stopped, and is the same for everybody
//! who looks.

mod common;

use common::Client;
use std::time::{Duration, Instant};

/// A route that takes seconds and more: 1,500 km, up and down.
fn long_route() -> String {
    let mut out = String::from("distance_m,height_m\n");
    for i in 0..3000 {
        out.push_str(&format!("{},{}\n", i * 500, 300 + (i % 4) * 10));
    }
    out
}

async fn part(client: &Client) -> common::Answer {
    client.ask(axum::http::Method::GET, "/bikes/0117/hill/sheet", &[("x-part", "1")], Vec::new()).await
}

async fn until(client: &Client, what: &str) -> String {
    let from = Instant::now();
    loop {
        let answer = part(client).await;
        assert_eq!(answer.status, 200, "{}", answer.text);
        if answer.text.contains(what) {
            return answer.text;
        }
        assert!(from.elapsed() < Duration::from_secs(60), "`{what}` did not come: {}", answer.text);
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_long_ride_shows_how_far_it_is_and_stops_when_it_is_told() {
    let client = Client::demo();
    let sent = client.upload("/bikes/0117/hill/route", "way.csv", long_route().as_bytes()).await;
    assert_eq!(sent.status, 303, "{}", sent.text);

    let from = Instant::now();
    let page = client.get("/bikes/0117/hill").await;
    assert!(from.elapsed() < Duration::from_secs(5), "the page does not wait for the ride");
    assert!(page.text.contains("<progress") && page.text.contains("Stop it"), "{}", page.text);
    assert!(page.text.contains("http-equiv=\"refresh\""), "works without script by loading again");
    assert!(!page.text.contains("strip.svg"), "nothing is shown that is not there yet");
    // The picture says so too instead of hanging.
    assert_eq!(client.get("/bikes/0117/hill/strip.svg?clutch=locked").await.status, 409);

    // Two who look see one ride, and it goes on by itself.
    let far = |text: &str| -> f64 {
        text.split("value=\"").nth(1).and_then(|r| r.split('"').next()).and_then(|n| n.parse().ok()).unwrap_or(f64::NAN)
    };
    let one = far(&part(&client).await.text);
    let start = Instant::now();
    loop {
        let now = far(&part(&client).await.text);
        if now > one {
            break;
        }
        assert!(start.elapsed() < Duration::from_secs(60), "no progress beyond {one} %");
        tokio::time::sleep(Duration::from_millis(50)).await;
    }

    let from = Instant::now();
    let headers = [("cookie", "who=Mirra; device=bench%202"), ("content-type", common::FORM)];
    let stopped = client.ask(axum::http::Method::POST, "/bikes/0117/hill/stop", &headers, Vec::new()).await;
    assert_eq!(stopped.status, 303);
    let text = until(&client, "Mirra stopped this ride.").await;
    assert!(from.elapsed() < Duration::from_secs(5), "a stop is quick");
    assert!(text.contains("hill/again") && !text.contains("<progress"), "{text}");
    // It stays so for everybody, until somebody wants it again.
    assert!(client.get("/bikes/0117/hill").await.text.contains("Mirra stopped this ride."));
    assert_eq!(client.form("/bikes/0117/hill/again", &[]).await.status, 303);
    assert!(client.get("/bikes/0117/hill").await.text.contains("<progress"));

    // Another hill overtakes the one that is being worked out; a short one is there at once.
    let from = client.app.book.document("0117/hill").expect("read").expect("there").revision.to_string();
    let sent = client.form("/bikes/0117/hill", &[("descent", "7 %, 133 m"), ("from", &from)]).await;
    assert_eq!(sent.status, 303, "{}", sent.text);
    let done = until(&client, "strip.svg").await;
    assert!(done.contains("Worth it") || done.contains("Not like this"), "{done}");
    let strip = client.get("/bikes/0117/hill/strip.svg?clutch=free").await;
    assert!(strip.status == 200 && strip.text.contains("<svg"));
}

/// The page's answers are the command line's: both ride the same course with the same facts.
#[tokio::test(flavor = "multi_thread")]
async fn the_answers_are_those_of_the_command_line() {
    use workbench::ride::answers::ANSWERS;
    use workbench::ride::{descent, options::Options, study::study};
    let client = Client::demo();
    client.form("/bikes/0117/hill", &[("descent", "7 %, 133 m"), ("from", "0")]).await;
    let shown = until(&client, "strip.svg").await;
    let rack = intake::read_rack(include_str!("../../../demo/rack.toml")).expect("a rack");
    let shop = intake::Shop { rack, rules: intake::Rules::default() };
    let job = intake::read_job(include_str!("../../../demo/0117-bread-longtail.toml"), &shop).expect("a job");
    let options = Options::read(&[]).expect("options");
    let (grade, height) = descent::slope_and_height("7 %, 133 m").expect("a descent");
    let course = descent::course(&job, &options, grade, height).expect("a course");
    let s = study(&job, &course, &options).expect("a study");
    // The sentence is that of the load which fails, if one does.
    let failing = s.pairs.iter().zip(["lightest", "usual", "heaviest"]).find(|(p, _)| !p.survives());
    let (said, load) = failing.map_or(("Worth it", "usual"), |(_, load)| ("Not like this", load));
    assert!(shown.contains(&format!("With the {load} load: {said}")), "{shown}");
    let rows: Vec<&str> = shown.split("<tbody>").nth(1).expect("a table").split("<tr>").skip(1).collect();
    assert_eq!(rows.len(), ANSWERS.len());
    for (a, row) in ANSWERS.iter().zip(rows) {
        let name = workbench::words::find(&format!("ride.answer.{}", a.key)).expect("words");
        assert!(row.contains(&format!(">{name}<")), "{name} is not in {row}");
        for p in &s.pairs {
            let number = (a.of)(p).map_or_else(|| a.absent(), workbench::say::figure);
            assert!(row.contains(&format!(">{number}")), "{name}: {number} is not in {row}");
        }
    }
}

/// What cannot be ridden says why, at once and for good; nothing of it stays behind.
#[tokio::test(flavor = "multi_thread")]
async fn a_ride_without_its_facts_says_what_is_missing() {
    let client = Client::demo();
    client.form("/bikes/0126/hill", &[("descent", "9 %, 310 m"), ("from", "0")]).await;
    let page = client.get("/bikes/0126/hill").await;
    assert_eq!(page.status, 200);
    assert!(page.text.contains("this ride cannot be worked out"), "{}", page.text);
}

/// The shop's computer goes out in the middle of a ride: the next look begins it anew, from the route in the book.
#[tokio::test(flavor = "multi_thread")]
async fn a_ride_that_a_restart_has_cut_short_begins_anew() {
    let client = Client::demo();
    client.upload("/bikes/0117/hill/route", "way.csv", long_route().as_bytes()).await;
    until(&client, "<progress").await;
    let client = client.restart();
    let page = client.get("/bikes/0117/hill").await.text;
    assert!(page.contains("<progress") && page.contains("route-"), "{page}");
    assert_eq!(client.form("/bikes/0117/hill/stop", &[]).await.status, 303);
    until(&client, "stopped this ride").await;
}
