//! Papers in the book: two people lose nothing, what is personal goes when it is erased, and text stays text.

mod common;

use common::{FORM, POINT, choose, consent_say, consent_sign, now, send, shop};
use jobbook::By;

#[tokio::test]
async fn two_people_write_one_paper_and_lose_nothing() {
    let client = shop();
    assert_eq!(
        client
            .form("/bikes/0117/talk", &[("from", "0"), ("a.wish", "hill"), ("a.note", "Comes on Friday")])
            .await
            .status,
        303
    );
    let seen = now(&client, "0117/talk").0;
    let by = |who: &str| format!("who={who}; device=bench%20of%20{who}");
    let say = |who: &'static str, pairs: String| {
        let (client, cookie) = (&client, by(who));
        async move {
            client
                .ask(
                    axum::http::Method::POST,
                    "/bikes/0117/talk",
                    &[("content-type", FORM), ("cookie", &cookie)],
                    pairs.into_bytes(),
                )
                .await
        }
    };
    let form =
        |note: &str, wish: &str| format!("from={seen}&a.note={note}&o.note=Comes+on+Friday&a.wish={wish}&o.wish=hill");
    assert_eq!(say("Jossel", form("Comes+on+Monday", "hill")).await.status, 303);
    // Another field of the same form merges.
    assert_eq!(say("Mirra", form("Comes+on+Friday", "pads")).await.status, 303);
    // The same field shows both, and mine can be kept.
    let both = say("Mirra", form("Comes+on+Sunday", "hill")).await;
    assert!(
        both.status == 409 && both.text.contains("Comes on Monday") && both.text.contains("Comes on Sunday"),
        "{}",
        both.text
    );
    assert!(both.text.contains("What else was said"), "{}", both.text);
    let text = now(&client, "0117/talk").1;
    assert!(text.contains("Comes on Monday") && text.contains("wish = \"pads\""), "{text}");
    let at = both
        .text
        .split("name=\"from\" value=\"")
        .nth(1)
        .and_then(|r| r.split('"').next())
        .expect("a revision")
        .to_owned();
    assert_eq!(
        client
            .form("/bikes/0117/talk", &[("from", &at), ("a.note", "Comes on Sunday"), ("o.note", "Comes on Friday")])
            .await
            .status,
        303
    );
    assert!(now(&client, "0117/talk").1.contains("Comes on Sunday"));
}

/// Everything personal goes, also from every earlier revision; what was built, quoted and found stays.
#[tokio::test]
async fn erasing_the_rider_leaves_the_technical_record() {
    let client = shop();
    let talk = [
        ("a.name", "Ansa Perrol"),
        ("a.phone", "0311 4455"),
        ("a.email", "ansa@vale.example"),
        ("a.address", "Mill Lane 7"),
        ("a.wish", "hill"),
        ("a.others", "Ansa and her brother"),
        ("a.note", "Ansa rides to the bridge"),
    ];
    assert_eq!(send(&client, "/bikes/0117/talk", "0117/talk", &talk).await.status, 303);
    assert_eq!(
        send(
            &client,
            "/bikes/0117/papers",
            "0117/papers",
            &[
                ("a.insurer", "Vale Mutual"),
                ("a.policy", "77-120-9"),
                ("a.held", "own"),
                ("a.remark", "Perrol has the papers at home")
            ]
        )
        .await
        .status,
        303
    );
    choose(&client, "0117").await;
    assert_eq!(
        send(&client, "/bikes/0117/quote", "0117/quote", &[("a.remark", "Bill to Belda Quist"), ("o.remark", "")])
            .await
            .status,
        303
    );
    // Her sister signs the quote; a name that only the signature brings.
    assert_eq!(
        send(
            &client,
            "/bikes/0117/quote/accept",
            "0117/quote",
            &[("signer", "Belda Quist"), ("how", "drawn"), ("signature", POINT)]
        )
        .await
        .status,
        303
    );
    for n in 1..=7 {
        assert_eq!(consent_say(&client, &n.to_string(), "yes").await.status, 303);
    }
    assert_eq!(consent_sign(&client, &[("how", "drawn"), ("signature", POINT)]).await.status, 303);
    assert_eq!(
        client
            .upload("/bikes/0117/hill/route", "way.csv", b"distance_m,height_m\n0,300\n500,280\n1500,200\n")
            .await
            .status,
        303
    );
    let before = client.app.book.history("0117").expect("history");
    let file = now(&client, "0117/job").1;

    let done = client.app.book.erase_rider("0117", &[], &By::new("Mirra Stobel", "bench 1")).expect("erased");
    assert_eq!(done.files.iter().filter(|f| f.starts_with("signature-")).count(), 2, "{done:?}");
    assert!(client.app.book.attachments("0117").expect("read").is_empty(), "signatures and the route are gone");
    let mut everything = String::new();
    for name in client.app.book.document_names("0117/").expect("names") {
        everything.push_str(&now(&client, &name).1);
    }
    let after = client.app.book.history("0117").expect("history");
    everything.push_str(&format!("{after:?}"));
    for gone in ["Ansa", "Perrol", "4455", "ansa@vale", "Mill Lane 7", "Belda", "Quist", "Vale Mutual", "77-120-9"] {
        assert!(!everything.contains(gone), "{gone} is still there");
    }
    // And from the pages.
    for path in
        ["talk", "papers", "papers/notice", "quote", "quote/sheet", "consent", "consent/sheet", "history", "hill"]
    {
        let page = client.get(&format!("/bikes/0117/{path}")).await;
        assert!(page.status == 200, "{path}: {}", page.text);
        for gone in ["Ansa", "Belda", "Vale Mutual"] {
            assert!(!page.text.contains(gone), "{path} still shows {gone}");
        }
    }
    let without = file.replace("Ansa Perrol", &workbench::words::text("book.erased-word"));
    assert_eq!(now(&client, "0117/job").1, without, "but for the name, the technical record is the same to the byte");
    let quote = now(&client, "0117/quote").1;
    for stays in ["option = \"as-it-is\"", "Road test, marks", "how = \"drawn\"", "sha256 = "] {
        assert!(quote.contains(stays), "{stays}: {quote}");
    }
    assert!(
        now(&client, "0117/talk").1.contains("wish = \"hill\"")
            && now(&client, "0117/papers").1.contains("held = \"own\"")
    );
    assert!(after.len() > before.len() - 1, "who changed what when stays");
    assert!(client.get("/bikes/0117/quote").await.text.contains("somebody whose name is no longer kept"));
}

#[tokio::test]
async fn script_in_the_papers_stays_text() {
    let client = shop();
    let bad = "<script>alert(1)</script>\"'&";
    choose(&client, "0117").await;
    let talk =
        [("a.name", bad), ("a.phone", bad), ("a.email", bad), ("a.address", bad), ("a.note", bad), ("a.others", bad)];
    assert_eq!(send(&client, "/bikes/0117/talk", "0117/talk", &talk).await.status, 303);
    let rider = now(&client, "0117/rider").0;
    let papers = [("from_rider", rider.as_str()), ("a.insurer", bad), ("a.policy", bad), ("a.remark", bad)];
    assert_eq!(send(&client, "/bikes/0117/papers", "0117/papers", &papers).await.status, 303);
    let quote = [
        ("a.remark", bad),
        ("a.not_lockable", bad),
        ("o.not_lockable", ""),
        ("new.what", bad),
        ("new.each", "1"),
        ("change", "bad-line-1"),
    ];
    assert_eq!(send(&client, "/bikes/0117/quote", "0117/quote", &quote).await.status, 303);
    assert_eq!(
        send(&client, "/bikes/0117/quote/accept", "0117/quote", &[("signer", bad), ("how", "paper")]).await.status,
        303
    );
    assert_eq!(
        send(&client, "/bikes/0117/consent", "0117/consent", &[("a.found", bad), ("a.against", bad)]).await.status,
        303
    );
    let prices = format!("[shop]\nname = {bad:?}\npapers = {bad:?}\n[[item]]\nwhat = {bad:?}\n");
    assert_eq!(send(&client, "/shop/prices", "prices", &[("text", &prices)]).await.status, 303);
    for path in [
        "/bikes/0117/talk",
        "/bikes/0117/papers",
        "/bikes/0117/papers/notice",
        "/bikes/0117/quote",
        "/bikes/0117/quote/sheet",
        "/bikes/0117/consent",
        "/bikes/0117/consent/sheet",
        "/bikes/0117/history",
        "/prices",
    ] {
        let page = client.get(path).await;
        assert_eq!(page.status, 200, "{path}: {}", page.text);
        assert!(!page.text.contains("<script>alert"), "{path}");
        assert!(page.text.contains("&lt;script&gt;alert"), "{path} shows it as text");
    }
}

#[tokio::test]
async fn faulty_prices_are_said_with_their_place_and_change_nothing() {
    let client = shop();
    let before = now(&client, "prices").1;
    let faulty = before.replace("hour = \"52\"", "hour = \"dear\"").replace("valid_days = 14", "valid_days = 0");
    let no = send(&client, "/shop/prices", "prices", &[("text", &faulty)]).await;
    assert_eq!(no.status, 422);
    for part in ["`money.hour` is `dear`", "`money.valid_days` is `0`", "prices:11:", "2 errors"] {
        assert!(no.text.contains(part), "{part}: {}", no.text);
    }
    assert_eq!(now(&client, "prices").1, before);
    assert!(client.get("/prices").await.text.contains("Quennick Wheel Yard"));
}
