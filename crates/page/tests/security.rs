//! What a stranger on the network, a page of another site, or a careless upload can do: nothing.

mod common;

use axum::http::{Method, StatusCode};
use common::{Client, FORM};

#[tokio::test]
async fn a_foreign_name_is_turned_away() {
    let client = Client::demo();
    for host in ["evil.example", "evil.example:8077", "127.0.0.1.evil.example:8077", "127.0.0.1:9", "localhost:80", ""]
    {
        let answer = client.ask(Method::GET, "/", &[("host", host)], Vec::new()).await;
        assert_eq!(answer.status, StatusCode::MISDIRECTED_REQUEST, "{host}");
        assert!(!answer.text.contains("0117"), "{host} saw a bike");
    }
    for host in ["127.0.0.1:8077", "localhost:8077", "[::1]:8077"] {
        assert_eq!(client.ask(Method::GET, "/", &[("host", host)], Vec::new()).await.status, StatusCode::OK, "{host}");
    }
}

#[tokio::test]
async fn no_form_of_another_site_is_taken() {
    let client = Client::demo();
    let before = client.get("/bikes/0117/job.toml").await.text;
    let form = b"f.axle.left.nut_torque=5&u.axle.left.nut_torque=N%C2%B7m&change=evil0001".to_vec();
    for foreign in [
        ("origin", "https://evil.example"),
        ("origin", "null"),
        ("origin", "http://127.0.0.1:9999"),
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
    ] {
        for path in ["/bikes/0117/facts", "/bikes/0117/undo", "/new", "/you", "/shop/rules", "/pair/forget", "/login"] {
            let headers = [foreign, ("content-type", FORM)];
            let answer = client.ask(Method::POST, path, &headers, form.clone()).await;
            assert_eq!(answer.status, StatusCode::FORBIDDEN, "{path} {foreign:?}");
        }
    }
    assert_eq!(client.get("/bikes/0117/job.toml").await.text, before);
    // The same form from the workbench's own page is taken.
    let own = [("origin", "http://127.0.0.1:8077"), ("sec-fetch-site", "same-origin"), ("content-type", FORM)];
    assert_eq!(client.ask(Method::POST, "/bikes/0117/facts", &own, form).await.status, StatusCode::SEE_OTHER);
    assert_ne!(client.get("/bikes/0117/job.toml").await.text, before);
}

#[tokio::test]
async fn every_answer_forbids_what_a_page_must_not_do() {
    let client = Client::demo();
    for path in
        ["/", "/bikes/0109/holds", "/bikes/0109/holds/left-faces", "/nothing", "/assets/page.js", "/sums/preload"]
    {
        let answer = client.get(path).await;
        let policy = answer.header("content-security-policy");
        assert!(policy.contains("default-src 'none'") && policy.contains("frame-ancestors 'none'"), "{path}: {policy}");
        assert!(!policy.contains("unsafe") && !policy.contains("http"), "{path}: {policy}");
        assert_eq!(answer.header("x-content-type-options"), "nosniff", "{path}");
        assert_eq!(answer.header("referrer-policy"), "same-origin", "{path}");
        // Nothing that such a policy would have to forgive.
        let page = answer.text.to_lowercase();
        if answer.header("content-type").starts_with("text/html") {
            assert!(!page.contains("<style") && !page.contains(" style="), "{path} has inline style");
            assert!(!page.contains("javascript:") && !page.contains(" onclick") && !page.contains(" onload"), "{path}");
            assert_eq!(page.matches("<script").count(), 1, "{path}");
            assert!(!page.contains("src=\"http") && !page.contains("href=\"http"), "{path} names another host");
        }
    }
}

#[tokio::test]
async fn no_path_leads_out() {
    let client = Client::demo();
    for path in [
        "/assets/../Cargo.toml",
        "/assets/..%2f..%2fCargo.toml",
        "/assets/%2e%2e/%2e%2e/etc/passwd",
        "/assets/%2fetc%2fpasswd",
        "/assets/page.css%00.js",
        "/bikes/..%2f..%2fetc/job.toml",
        "/bikes/0117/files/..%2f..%2f..%2fetc%2fpasswd",
        "/bikes/0117/files/%2fetc%2fpasswd",
        "/help/..%2frack",
        "/sums/..%2f..%2fsecrets",
    ] {
        let answer = client.get(path).await;
        assert!(answer.status.is_client_error(), "{path}: {}", answer.status);
        assert!(!answer.text.contains("root:") && !answer.text.contains("[package]"), "{path}");
    }
}

#[tokio::test]
async fn uploads_that_are_too_large_or_make_no_sense_change_nothing() {
    let client = Client::demo();
    let before = client.get("/bikes/0117/job.toml").await.text;
    let (job, photos) = ("/bikes/0117/file", "/bikes/0117/files");
    let wrong_unit = b"number = \"0117\"\nname = \"x\"\n[axle.left]\nnut_torque = \"80 N\"\n".to_vec();
    let (large, unusable) = (StatusCode::PAYLOAD_TOO_LARGE, StatusCode::UNPROCESSABLE_ENTITY);
    for (path, name, bytes, status) in [
        (job, "a.toml", b"number = \"1\"\n".repeat(200_000), large),
        (job, "a.toml", vec![0xff, 0xfe, 0, 1], unusable),
        (job, "a.toml", b"number = ".to_vec(), unusable),
        (job, "a.toml", wrong_unit, unusable),
        (job, "a.toml", Vec::new(), unusable),
        (photos, "a.jpg", b"<html><script>alert(1)</script>".to_vec(), unusable),
        (photos, "a.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>".to_vec(), unusable),
        (photos, "a.csv", vec![0xff; 100], unusable),
        (photos, "a.jpg", vec![0xff; 25 << 20], large),
        ("/new/file", "a.toml", b"][".to_vec(), unusable),
    ] {
        let size = bytes.len();
        let answer = client.upload(path, name, &bytes).await;
        assert_eq!(answer.status, status, "{path} {name} {size}: {}", answer.text);
    }
    let broken = [("content-type", "multipart/form-data; boundary=x")];
    for body in
        [&b"--x\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a\"\r\n\r\nno end"[..], b"", b"--y--"]
    {
        let answer = client.ask(Method::POST, job, &broken, body.to_vec()).await;
        assert!(answer.status.is_client_error(), "{}", answer.status);
    }
    let long = [&b"remark="[..], &vec![b'x'; 300 << 10]].concat();
    let answer = client.ask(Method::POST, "/bikes/0117/remarks", &[("content-type", FORM)], long).await;
    assert_eq!(answer.status, large);
    assert_eq!(client.get("/bikes/0117/job.toml").await.text, before);
    assert!(!client.get(photos).await.text.contains("<img"));
}

#[tokio::test]
async fn script_in_every_text_field_stays_text() {
    const EVIL: &str = "</textarea></title>\"'><script>alert(1)</script><img src=x onerror=alert(2)>";
    let client = Client::demo();
    let form = client.form("/new", &[("kind", "town"), ("name", EVIL)]).await;
    assert_eq!(form.status, StatusCode::SEE_OTHER, "{}", form.text);
    let bike = form.header("location").split('/').nth(2).expect("a number").to_owned();
    client.form(&format!("/bikes/{bike}/remarks"), &[("group", "7"), ("remark", EVIL)]).await;
    client.form("/shop/shelf", &[("text", &format!("[[part]]\nname = '''{EVIL}'''\nnote = '''{EVIL}'''\n"))]).await;
    client.form("/shop/rack", &[("text", &format!("[[tool]]\nid = '''{EVIL}'''\nclass = \"none\"\n"))]).await;
    let rules = client.form("/shop/rules", &[("text", EVIL)]).await;
    let key = "axle.left.nut_torque";
    let fields = [("f.", EVIL), ("u.", EVIL), ("s.", EVIL)].map(|(p, v)| (format!("{p}{key}"), v));
    let fields: Vec<(&str, &str)> =
        fields.iter().map(|(k, v)| (k.as_str(), *v)).chain([("how", EVIL), ("then", EVIL), ("x", EVIL)]).collect();
    let asked = client.form(&format!("/bikes/{bike}/facts"), &fields).await;
    assert_eq!(asked.status, StatusCode::UNPROCESSABLE_ENTITY);
    let file = format!("number = \"9\"\nname = '''{EVIL}'''\nkind = '''{EVIL}'''\nnotes = ['''{EVIL}''']\n");
    let faulty = client.upload("/new/file", EVIL, file.as_bytes()).await;
    let who = [(
        "cookie",
        "who=%3Cscript%3Ealert%281%29%3C%2Fscript%3E; device=%3Cimg%20src%3Dx%20onerror%3Dalert%282%29%3E",
    )];
    let mut pages = vec![rules.text, asked.text, faulty.text];
    for path in [
        "/".to_owned(),
        format!("/bikes/{bike}/holds"),
        format!("/bikes/{bike}/measure"),
        format!("/bikes/{bike}/measure/7"),
        format!("/bikes/{bike}/history"),
        format!("/bikes/{bike}/measure/30"),
        "/shelf".to_owned(),
        "/rack".to_owned(),
        "/rules".to_owned(),
        "/you?then=%22%3E%3Cscript%3Ealert(1)%3C%2Fscript%3E".to_owned(),
        "/sums/preload?torque=%3Cscript%3Ealert(1)%3C%2Fscript%3E".to_owned(),
    ] {
        pages.push(client.ask(Method::GET, &path, &who, Vec::new()).await.text);
    }
    for page in pages {
        assert!(page.len() > 500);
        assert_eq!(page.matches("<script").count(), 1, "{page}");
        assert!(!page.contains("<img src=x"), "{page}");
    }
}

#[tokio::test]
async fn a_wider_workbench_lets_in_only_whom_it_was_told() {
    let client = Client::wide("correct-horse-staple");
    for path in ["/", "/bikes/0117/holds", "/bikes/0117/job.toml", "/news", "/pair", "/bikes/0117/advice"] {
        let answer = client.get(path).await;
        assert_eq!((answer.status, answer.header("location")), (StatusCode::SEE_OTHER, "/login".to_owned()), "{path}");
    }
    assert_eq!(
        client.form("/bikes/0117/facts", &[("f.axle.left.nut_torque", "5")]).await.status,
        StatusCode::FORBIDDEN
    );
    let wrong = client.form("/login", &[("passphrase", "correct-horse-stapl"), ("device", "bench 9")]).await;
    assert_eq!((wrong.status, wrong.header("set-cookie")), (StatusCode::FORBIDDEN, String::new()));
    let right = client.form("/login", &[("passphrase", "correct-horse-staple"), ("device", "bench 1")]).await;
    assert_eq!(right.status, StatusCode::SEE_OTHER);
    let session = right.header("set-cookie");
    assert!(session.contains("HttpOnly") && session.contains("SameSite=Lax"), "{session}");
    let first = session.split(';').next().expect("a cookie").to_owned();
    assert!(client.ask(Method::GET, "/", &[("cookie", &first)], Vec::new()).await.text.contains("0117"));

    // The word of the square code opens once, and a preview of its address does not use it up.
    let pair = client.ask(Method::GET, "/pair", &[("cookie", &first)], Vec::new()).await.text;
    let word = pair.split("/join/").nth(1).and_then(|r| r.get(..8)).expect("a word").to_owned();
    let join = format!("/join/{word}");
    assert_eq!(client.get(&join).await.status, StatusCode::OK);
    assert_eq!(client.get(&join).await.status, StatusCode::OK);
    let tablet = client.form(&join, &[("device", "bench 2")]).await;
    assert_eq!(tablet.status, StatusCode::SEE_OTHER);
    assert_eq!(client.form(&join, &[("device", "bench 3")]).await.status, StatusCode::FORBIDDEN);
    let second = tablet.header("set-cookie").split(';').next().expect("a cookie").to_owned();
    assert_eq!(client.ask(Method::GET, "/", &[("cookie", &second)], Vec::new()).await.status, StatusCode::OK);
    let guessed = [("cookie", "session=0123456789abcdef")];
    assert_eq!(client.ask(Method::GET, "/", &guessed, Vec::new()).await.status, StatusCode::SEE_OTHER);
}
