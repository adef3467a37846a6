//! Two devices of one shop write the same: the book knows them apart, whatever they are called.

mod common;

use axum::http::{Method, StatusCode};
use common::{Answer, Client, FORM, now};

const PASSPHRASE: &str = "correct-horse-staple";

/// A device that came in; its session.
async fn comes_in(client: &Client, name: &str) -> String {
    let come = client.form("/login", &[("passphrase", PASSPHRASE), ("device", name)]).await;
    assert_eq!(come.status, StatusCode::SEE_OTHER);
    come.header("set-cookie").split(';').next().expect("a session").to_owned()
}

async fn left_nut(client: &Client, session: &str, from: &str, torque: &str) -> Answer {
    let headers = [("content-type", FORM), ("cookie", session)];
    let key = "axle.left.nut_torque";
    let form = format!("from={from}&f.{key}={torque}&u.{key}=N%C2%B7m&how=W2");
    client.ask(Method::POST, "/bikes/0117/facts", &headers, form.into_bytes()).await
}

/// The second device writes on what it saw before the first one wrote.
async fn second_is_asked(client: &Client, first: &str, second: &str) {
    let seen = now(client, "0117/job").0;
    for torque in ["71", "72"] {
        // A line of entries that one device typed without a link comes in one after the other.
        let done = left_nut(client, first, &seen, torque).await;
        assert_eq!(done.status, StatusCode::SEE_OTHER, "{torque}: {}", done.text);
    }
    let both = left_nut(client, second, &seen, "60").await;
    assert_eq!(both.status, StatusCode::CONFLICT, "{}", now(client, "0117/job").1);
    assert!(both.text.contains("72 N") && both.text.contains("60 N"), "{}", both.text);
    let text = now(client, "0117/job").1;
    assert!(text.contains("nut_torque = \"72 N") && !text.contains("nut_torque = \"60 N"), "{text}");
}

#[tokio::test]
async fn two_devices_with_one_name_do_not_write_over_each_other() {
    for name in ["", "bench 1", "command line", &"工".repeat(40)] {
        let client = Client::wide(PASSPHRASE);
        let (first, second) = (comes_in(&client, name).await, comes_in(&client, name).await);
        second_is_asked(&client, &first, &second).await;
    }
}

#[tokio::test]
async fn devices_that_an_older_book_let_in_under_one_name_are_told_apart() {
    let client = Client::wide(PASSPHRASE);
    let (first, second) = (comes_in(&client, "bench 1").await, comes_in(&client, "bench 2").await);
    let (revision, text) = now(&client, "devices");
    let alike = text.replace("bench 2", "bench 1");
    assert_ne!(text, alike);
    let by = jobbook::By::new("Mirra Stobel", "bench 1");
    client.app.book.set_document("devices", &alike, revision.parse().expect("a revision"), &by).expect("written");
    let client = client.restart();
    second_is_asked(&client, &first, &second).await;
}
