//! The papers of a job: what they say is what was worked out, and what is signed stays as it was signed.

mod common;

use common::{POINT, choose, consent_say, consent_sign, hidden, now, send, shop};
use jobbook::By;
use jobbook::edit::Edit;
use workbench::check::check;
use workbench::job::Job;
use workbench::say::percent;

fn job(text: &str) -> Job {
    let rack = intake::read_rack(include_str!("../../../demo/rack.toml")).expect("a rack");
    intake::read_job(text, &intake::Shop { rack, rules: intake::Rules::default() }).expect("a job")
}

#[tokio::test]
async fn a_quote_has_the_numbers_of_the_check_and_of_the_shelf() {
    let client = shop();
    let c = check(&job(include_str!("../../../demo/0117-bread-longtail.toml")));
    let page = client.get("/bikes/0117/quote").await;
    assert!(page.status == 200 && page.text.contains("Choice A") && !page.text.contains("Choice B"), "{}", page.text);
    assert_eq!(choose(&client, "0117").await, "as-it-is");
    let sheet = client.get("/bikes/0117/quote/sheet").await.text;
    let fullest = c.worst_first().into_iter().find(|l| l.load.is_some()).expect("a link").clone();
    let full = percent(fullest.load.expect("a load").full);
    for part in [
        "Quote 0117-1",
        "Quennick Wheel Yard",
        &full,
        &workbench::say::name(&fullest),
        "1 bike in 1000",
        "new clutch (Clutch, new, for this hub, 55 mk)",
    ] {
        assert!(sheet.contains(part), "{part} is missing: {sheet}");
    }
    // By hand: welder 60, grease and so on 17, tag 2; 50+30+45+45+90+40+40+20 min = 6:00 at 52.
    assert!(sheet.contains("6:00 h") && sheet.contains("<b>391 mk</b>"), "{sheet}");

    // A changed line, a line more, a line out: 391 + 26 (half an hour) + 12.50 - 60 (the welder comes for nothing).
    let text = now(&client, "0117/quote").1;
    let id = |what: &str| {
        let at = text.find(what).unwrap_or_else(|| panic!("{what}: {text}"));
        text[..at].rsplit("[lines.").next().and_then(|r| r.split(']').next()).expect("a line").to_owned()
    };
    let (weld, hand) = (id("Outside welder"), id("Hand over"));
    let (weld_count, hand_count) = (format!("a.lines.{weld}.count"), format!("a.lines.{hand}.count"));
    let hand_old = format!("o.lines.{hand}.count");
    let form = [
        (weld_count.as_str(), "0"),
        (hand_count.as_str(), "0:50"),
        (hand_old.as_str(), "0:20"),
        ("new.what", "Brake pads, rear"),
        ("new.count", "1"),
        ("new.each", "12,50"),
        ("change", "line-0001"),
    ];
    assert_eq!(send(&client, "/bikes/0117/quote", "0117/quote", &form).await.status, 303);
    let sheet = client.get("/bikes/0117/quote/sheet").await.text;
    assert!(
        sheet.contains("<b>369.50 mk</b>") && sheet.contains("Brake pads, rear") && !sheet.contains("Outside welder"),
        "{sheet}"
    );

    // What is no amount is asked back with everything else of the form.
    let wrong = send(
        &client,
        "/bikes/0117/quote",
        "0117/quote",
        &[(hand_count.as_str(), "long"), ("a.remark", "Call first"), ("o.remark", "")],
    )
    .await;
    assert!(wrong.status == 422 && wrong.text.contains("This is no amount of things or hours"), "{}", wrong.text);
    assert!(wrong.text.contains("name=\"a.remark\" value=\"Call first\""), "{}", wrong.text);

    // A changed job is said on page and sheet.
    let sent = client
        .form(
            "/bikes/0117/facts",
            &[("f.axle.left.nut_torque", "30"), ("u.axle.left.nut_torque", "N·m"), ("how", "W2")],
        )
        .await;
    assert_eq!(sent.status, 303);
    for path in ["/bikes/0117/quote", "/bikes/0117/quote/sheet"] {
        assert!(client.get(path).await.text.contains("The job was changed after this quote was made."), "{path}");
    }
}

#[tokio::test]
async fn what_would_fix_it_stands_side_by_side_and_is_taken_with_its_parts() {
    let client = shop();
    let card = client.app.book.job("0109").expect("a job").card_revision;
    client.app.book.set_kind("0109", jobbook::Kind::FoundLocked, card, &By::new("Mirra", "bench 1")).expect("written");
    let page = client.get("/bikes/0109/quote").await.text;
    assert!(page.contains("Choice A") && page.contains("Choice B"), "two options at least: {page}");
    let c = check(&job(include_str!("../../../demo/0109-bread-longtail-as-found.toml")));
    let advice = workbench::advice::advise(&job(include_str!("../../../demo/0109-bread-longtail-as-found.toml")), &c);
    let best = advice.fixes.last().expect("fixes");
    assert!(page.contains(&percent(best.full)), "{}", percent(best.full));
    let key = choose(&client, "0109").await;
    let sheet = client.get("/bikes/0109/quote/sheet").await.text;
    assert!(key.contains("pinch-arm") == sheet.contains("Pinching arm, steel 8 mm, left"), "{key}: {sheet}");
    // It came locked: no welder is paid.
    assert!(!sheet.contains("Outside welder"), "{sheet}");
    // Not known and refused bikes are not quoted.
    assert!(client.get("/bikes/0126/quote").await.text.contains("There is no verdict yet"));
    assert!(client.get("/bikes/0121/quote").await.text.contains("This bike is refused"));
}

#[tokio::test]
async fn a_quote_is_accepted_on_the_screen_or_on_paper_and_says_when_it_was_changed_afterwards() {
    let client = shop();
    let early =
        send(&client, "/bikes/0117/quote/accept", "0117/quote", &[("signer", "Ansa Perrol"), ("how", "paper")]).await;
    assert_eq!(early.status, 422, "nothing to accept yet");
    choose(&client, "0117").await;
    let accept =
        |pairs: &'static [(&'static str, &'static str)]| send(&client, "/bikes/0117/quote/accept", "0117/quote", pairs);
    for (pairs, why) in [
        (&[("signer", ""), ("how", "paper")] as &[_], "Write the name"),
        (&[("signer", "Ansa Perrol"), ("how", "drawn"), ("signature", "")], "field for the signature is empty"),
        (
            &[("signer", "Ansa Perrol"), ("how", "drawn"), ("signature", "data:image/png;base64,AAAA")],
            "did not arrive whole",
        ),
        (
            &[("signer", "Ansa Perrol"), ("how", "drawn"), ("signature", "data:image/png;base64,%%%")],
            "did not arrive whole",
        ),
        (
            &[("signer", "Ansa Perrol"), ("how", "drawn"), ("signature", "data:text/html;base64,PGI+")],
            "field for the signature is empty",
        ),
    ] {
        let no = accept(pairs).await;
        assert!(no.status == 422 && no.text.contains(why), "{why}: {}", no.text);
    }
    assert!(client.app.book.attachments("0117").expect("read").is_empty());
    let form = [("signer", "Ansa Perrol"), ("how", "drawn"), ("signature", POINT), ("change", "sign-0001")];
    for _ in 0..2 {
        let from = "1";
        let mut all = vec![("from", from)];
        all.extend(form);
        let sent = client.form("/bikes/0117/quote/accept", &all).await;
        assert_eq!(sent.status, 303, "{}", sent.text);
    }
    let files = client.app.book.attachments("0117").expect("read");
    assert!(
        files.len() == 1 && files[0].personal && files[0].media_type == "image/png",
        "sent twice, kept once: {files:?}"
    );
    let (revision, text) = now(&client, "0117/quote");
    assert_eq!(revision, "2");
    assert!(text.contains(&files[0].sha256) && !text.contains("Ansa"), "the name stands with the rider: {text}");
    assert!(now(&client, "0117/rider").1.contains("quote_signer = \"Ansa Perrol\""));
    let page = client.get("/bikes/0117/quote").await.text;
    assert!(
        page.contains("Signed by Ansa Perrol on the screen") && !page.contains("changed after it was signed"),
        "{page}"
    );
    let picture = client.get(&format!("/bikes/0117/files/{}", files[0].name)).await;
    assert_eq!((picture.status.as_u16(), picture.header("content-type").as_str()), (200, "image/png"));

    let sent = send(&client, "/bikes/0117/quote", "0117/quote", &[("a.deposit", "90"), ("o.deposit", "60")]).await;
    assert_eq!(sent.status, 303);
    for path in ["/bikes/0117/quote", "/bikes/0117/quote/sheet"] {
        assert!(client.get(path).await.text.contains("changed after it was signed"), "{path}");
    }
    // Taken back in the history, it is again what was signed.
    let last = client.app.book.history("0117").expect("history").last().expect("a change").id.to_string();
    assert_eq!(client.form("/bikes/0117/undo", &[("id", &last)]).await.status, 303);
    assert!(!client.get("/bikes/0117/quote").await.text.contains("changed after it was signed"));
    // The history names things as people do.
    let history = client.get("/bikes/0117/history").await.text;
    assert!(history.contains("Deposit for open and look") && !history.contains("signed.how"), "{history}");
}

#[tokio::test]
async fn who_reads_an_older_quote_does_not_sign_the_newer_one() {
    let client = shop();
    choose(&client, "0117").await;
    let seen = now(&client, "0117/quote").0;
    assert_eq!(
        send(&client, "/bikes/0117/quote", "0117/quote", &[("a.deposit", "200"), ("o.deposit", "60")]).await.status,
        303
    );
    let sent =
        client.form("/bikes/0117/quote/accept", &[("from", &seen), ("signer", "Ansa Perrol"), ("how", "paper")]).await;
    assert!(
        sent.status == 422 && sent.text.contains("Somebody changed this paper while you were reading it"),
        "{}",
        sent.text
    );
    assert!(!now(&client, "0117/quote").1.contains("[signed]"));
}

#[tokio::test]
async fn consent_is_said_sentence_by_sentence_and_kept_word_for_word() {
    let client = shop();
    choose(&client, "0117").await;
    let page = client.get("/bikes/0117/consent").await.text;
    // 29 W at 20 km/h for this motor: worked out on paper beside `workbench::gain`.
    assert!(page.contains("about 28.9 W at 20 km/h"), "{page}");
    assert!(page.contains("55 mk") && page.contains("below 5 km/h") && !page.contains("Sign the consent"), "{page}");
    let own = [("a.found", "Scratch on the left stay"), ("o.found", "")];
    assert_eq!(send(&client, "/bikes/0117/consent", "0117/consent", &own).await.status, 303);
    for n in ["1", "2", "3", "4", "6", "7"] {
        let early = consent_sign(&client, &[("how", "paper")]).await;
        assert!(early.status == 422 && early.text.contains("still open"), "{}", early.text);
        assert_eq!(consent_say(&client, n, "yes").await.status, 303);
    }
    for (n, answer) in [("5", "no"), ("8", "yes"), ("0", "yes"), ("x", "yes"), ("5", "maybe")] {
        assert_eq!(consent_say(&client, n, answer).await.status, 404, "{n} {answer}");
    }
    let early = consent_sign(&client, &[("how", "paper")]).await;
    assert!(early.text.contains("still open: 5."), "{}", early.text);
    consent_say(&client, "5", "yes").await;
    let signed = consent_sign(&client, &[("how", "drawn"), ("signature", POINT)]).await;
    assert_eq!(signed.status, 303, "{}", signed.text);
    let sheet = client.get("/bikes/0117/consent/sheet").await.text;
    assert!(
        sheet.contains("Found on arrival: Scratch on the left stay.") && sheet.contains("[I will come: yes]"),
        "{sheet}"
    );
    assert!(sheet.contains("Signed by Ansa Perrol") && !sheet.contains("changed after it was signed"), "{sheet}");
    // Who reads in other units reads the same paper.
    let imperial = client
        .ask(axum::http::Method::GET, "/bikes/0117/consent", &[("cookie", "units=imperial; decimal=comma")], Vec::new())
        .await;
    assert!(
        imperial.text.contains("mph") && !imperial.text.contains("changed after it was signed"),
        "{}",
        imperial.text
    );
    // Another wheel, another drag: what was signed still stands there, and the change is said.
    let sent = client
        .form(
            "/bikes/0117/facts",
            &[("f.bike.wheel_radius", "0.30"), ("u.bike.wheel_radius", "m"), ("how", "measured")],
        )
        .await;
    assert_eq!(sent.status, 303);
    let sheet = client.get("/bikes/0117/consent/sheet").await.text;
    assert!(sheet.contains("about 28.9 W") && sheet.contains("changed after it was signed"), "{sheet}");
    // What was found is corrected: sentence 7 has to be said again.
    let own = [("a.found", "Nothing"), ("o.found", "Scratch on the left stay")];
    assert_eq!(send(&client, "/bikes/0117/consent", "0117/consent", &own).await.status, 303);
    // So do sentence 1, with the other drag, and what was signed stays as it was.
    let page = client.get("/bikes/0117/consent").await.text;
    assert!(page.contains("2 sentences are still open") && page.contains("Not what was said yes to"), "{page}");
    assert_eq!(client.get("/bikes/0117/consent/sheet").await.text.matches("[understood]").count(), 5);
}

/// Sentences 1 and 2 come from the job and from the quote, not from the consent: they change without a new revision of it.
#[tokio::test]
async fn nobody_consents_to_a_sentence_that_changed_after_it_was_read() {
    let client = shop();
    choose(&client, "0117").await;
    let radius = async |metres: &str| {
        let form = [("f.bike.wheel_radius", metres), ("u.bike.wheel_radius", "m"), ("how", "measured")];
        assert_eq!(client.form("/bikes/0117/facts", &form).await.status, 303);
    };
    let page = async || client.get("/bikes/0117/consent").await.text;
    let read = |page: &str, n: &str| hidden(page, &format!("name=\"n\" value=\"{n}\""), "read");
    let before = page().await;
    radius("0.30").await;
    let say = |read: String| {
        let client = &client;
        async move {
            client
                .form("/bikes/0117/consent/say", &[("from", "0"), ("n", "1"), ("read", &read), ("answer", "yes")])
                .await
        }
    };
    for read in [read(&before, "1"), String::new()] {
        let no = say(read).await;
        let watts = no.text.split("about ").nth(1).and_then(|r| r.split(" W at").next()).expect("watts").to_owned();
        assert!(
            no.status == 422 && no.text.contains("said yes to: 1. Nothing was kept") && watts != "28.9",
            "{}",
            no.text
        );
        assert_eq!(now(&client, "0117/consent").0, "0");
    }
    for n in ["1", "2", "3", "4", "5", "6", "7"] {
        assert_eq!(consent_say(&client, n, "yes").await.status, 303, "{n}");
    }
    // The page with the button to sign stands open on one tablet; on another the drag changes, then the price of going back.
    let open = hidden(&page().await, "/consent/sign\"", "read");
    let sign = async || {
        let form = [("read", open.as_str()), ("signer", "Ansa Perrol"), ("how", "paper")];
        send(&client, "/bikes/0117/consent/sign", "0117/consent", &form).await
    };
    radius("0.33").await;
    let from = now(&client, "0117/quote").0.parse().expect("a revision");
    let (price, by) = ([Edit::put("undo_price", "77")], By::new("Mirra", "bench 1"));
    client.app.book.set_values("0117/quote", &price, from, &by).expect("written");
    let no = sign().await;
    assert!(no.status == 422 && no.text.contains("said yes to: 1, 2. Nothing was kept"), "{}", no.text);
    assert!(page().await.contains("2 sentences are still open") && !page().await.contains("Sign the consent"));
    for n in ["1", "2"] {
        assert_eq!(consent_say(&client, n, "yes").await.status, 303, "{n}");
    }
    // Said yes to again by somebody else, the words on the first tablet are still the old ones.
    let no = sign().await;
    assert!(no.status == 422 && no.text.contains("said yes to: 1, 2. Nothing was kept"), "{}", no.text);
    assert!(!now(&client, "0117/consent").1.contains("[signed]") && now(&client, "0117/rider").0 == "0");
    assert_eq!(consent_sign(&client, &[("how", "paper")]).await.status, 303);
    let kept = now(&client, "0117/consent").1;
    assert!(kept.contains("s2 = ") && kept.contains("77 mk"), "{kept}");
}

#[tokio::test]
async fn the_call_finds_the_no_before_anybody_rides_far() {
    let client = shop();
    let answers = [
        ("a.call.wheel", "front"),
        ("a.call.port", "two"),
        ("a.call.owner", "leased"),
        ("a.wish", "range"),
        ("a.name", "Dov Lindmar"),
        ("a.phone", "0311 22"),
    ];
    assert_eq!(send(&client, "/bikes/0121/talk", "0121/talk", &answers).await.status, 303);
    let page = client.get("/bikes/0121/talk").await.text;
    for part in [
        "Can&#39;t be done as it is",
        "it throws the rider",
        "nobody allows for charging",
        "owner&#39;s agreement in writing",
        "7 of ten still open",
        "value=\"Dov Lindmar\"",
    ] {
        assert!(page.contains(part) || page.contains(&part.replace("&#39;", "'")), "{part}: {page}");
    }
    assert!(page.contains("Pedalled with the power off it costs"), "{page}");
    assert!(now(&client, "0121/rider").1.contains("Dov Lindmar") && !now(&client, "0121/talk").1.contains("Dov"));
    // A shop that works without a rule does not refuse by it.
    client
        .app
        .book
        .set_document("rules", "without = [\"front-hub\"]\n", 0, &By::new("Mirra", "bench 1"))
        .expect("written");
    assert!(!client.get("/bikes/0121/talk").await.text.contains("it throws the rider"));
    // With a hill, the worth-it sentence stands there too.
    client.form("/bikes/0117/hill", &[("descent", "7 %, 133 m"), ("from", "0")]).await;
    for _ in 0..100 {
        if client.get("/bikes/0117/talk").await.text.contains("Worth it:") {
            return;
        }
    }
    panic!("no sentence on its worth");
}

#[tokio::test]
async fn papers_ask_and_the_notice_says_what_was_answered() {
    let client = shop();
    let empty = client.get("/bikes/0117/papers/notice").await.text;
    assert!(empty.contains("To: ______"), "{empty}");
    let answers = [
        ("a.class_before", "pedal-assist-25"),
        ("a.class_after", "other"),
        ("a.insurer_told", "will-do"),
        ("a.insurer", "Vale Mutual"),
        ("a.policy", "77-120"),
    ];
    assert_eq!(send(&client, "/bikes/0117/papers", "0117/papers", &answers).await.status, 303);
    let notice = client.get("/bikes/0117/papers/notice").await.text;
    for part in ["To: Vale Mutual", "Policy: 77-120", "before: pedal assist up to 25 km/h. After: another class"] {
        assert!(notice.contains(part), "{part}: {notice}");
    }
    // It asks; it never says what the law is.
    let page = client.get("/bikes/0117/papers").await.text.to_lowercase();
    for claim in ["illegal", "you must", "is allowed by law", "required by law", "forbidden"] {
        assert!(!page.contains(claim), "{claim}");
    }
}

#[tokio::test]
async fn a_refusal_has_four_sentences() {
    let client = shop();
    let c = check(&job(include_str!("../../../demo/0121-folding-commuter.toml")));
    let sheet = client.get("/bikes/0121/refusal").await.text;
    let said = sheet.split("<ol class=\"said\">").nth(1).and_then(|r| r.split("</ol>").next()).expect("sentences");
    assert_eq!(said.matches("<li>").count(), 4, "{said}");
    assert!(said.contains(&c.refused[0].sentence), "{said}");
    for s in said.split("<li>").skip(1) {
        let s = s.trim_end_matches("</li>");
        assert!(s.ends_with('.') && s.matches(". ").count() == 0, "one sentence: {s}");
    }
    assert_eq!(client.get("/bikes/0117/refusal").await.status, 422, "a bike that holds is not refused");
}
