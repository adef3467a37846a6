//! Nobody reads a bare key: what the code names has words, and no page shows a key where words are missing.

mod common;

use common::Client;
use workbench::words::find;

#[test]
fn every_key_that_the_code_names_has_words() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut seen = 0;
    let files = |folder: &std::path::Path| -> Vec<_> {
        std::fs::read_dir(folder).expect("sources").map(|f| f.expect("a file").path()).collect()
    };
    let all = files(&folder).into_iter().chain(files(&folder.join("office"))).filter(|p| p.is_file());
    for path in all {
        let code = std::fs::read_to_string(&path).expect("text");
        for literal in code.split('"').skip(1).step_by(2) {
            let key = ["page.", "app.", "ride.error.", "office."].iter().any(|start| literal.starts_with(start));
            if key
                && !literal.ends_with('.')
                && !literal.contains('{')
                && !literal.ends_with(".css")
                && !literal.ends_with(".js")
            {
                assert!(find(literal).is_some(), "{}: {literal}", path.display());
                seen += 1;
            }
        }
    }
    assert!(seen > 150, "{seen} keys seen");
}

#[tokio::test]
async fn no_page_shows_a_bare_key() {
    let client = Client::demo();
    client.form("/bikes/0117/hill", &[("descent", "7 %, 133 m"), ("from", "0")]).await;
    client.form("/bikes/0117/quote/choose", &[("option", "as-it-is"), ("from", "0")]).await;
    let first = [("hand-over", "yes"), ("date", "2026-03-05"), ("odometer", "1000"), ("faces", "bare")];
    let back = [
        ("date", "2026-03-20"),
        ("odometer", "1020"),
        ("right-nut", "41"),
        ("mark-right-nut", "12"),
        ("decision", "stop"),
    ];
    for bike in ["0117", "0109"] {
        client.form(&format!("/bikes/{bike}/back"), &first).await;
    }
    client.form("/bikes/0117/back", &back).await;
    let mut pages: Vec<String> = [
        "/",
        "/new",
        "/you",
        "/pair",
        "/rack",
        "/rules",
        "/shelf",
        "/help",
        "/sums",
        "/bikes/0117/measure",
        "/bikes/0117/history",
        "/bikes/0117/files",
        "/bikes/0117/files?slot=q24",
        "/bikes/0117/files?slot=p08",
        "/bikes/0117/back",
        "/due",
        "/bikes/0117/file",
        "/bikes/0117/advice",
        "/bikes/0109/advice",
        "/bikes/0121/holds",
        "/bikes/0126/quick-result",
        "/bikes/0117/hill/sheet",
        "/bikes/0117/key-in",
        "/bikes/0117/talk",
        "/bikes/0117/papers",
        "/bikes/0117/papers/notice",
        "/bikes/0117/quote",
        "/bikes/0117/quote/sheet",
        "/bikes/0109/quote",
        "/bikes/0121/quote",
        "/bikes/0126/quote",
        "/bikes/0121/refusal",
        "/bikes/0109/refusal",
        "/bikes/0117/consent",
        "/bikes/0117/consent/sheet",
        "/bikes/0117/stages",
        "/prices",
    ]
    .map(str::to_owned)
    .into();
    pages.extend((1..=44).map(|n| format!("/bikes/0109/measure/{n}")));
    pages.extend((1..=11).map(|k| format!("/bikes/0117/measure/quick/{k}")));
    pages.extend(workbench::sum::SUMS.iter().map(|s| format!("/sums/{}", s.name)));
    pages.extend(evidence::cards::rows().iter().map(|c| format!("/help/{}?bike=0117", c.id)));
    let job = client.get("/bikes/0109/holds").await.text;
    for part in job.split("href=\"/bikes/0109/holds?if=").skip(1) {
        pages.push(format!("/bikes/0109/holds?if={}", part.split('"').next().unwrap_or("")));
    }
    for why in ["found-locked", "undo"] {
        let made = client.form("/new", &[("why", why), ("kind", "hill"), ("name", why)]).await.header("location");
        let bike = made.split('/').nth(2).unwrap_or_default().to_owned();
        pages.extend([14, 23, 25, 30, 34, 44].map(|n| format!("/bikes/{bike}/measure/{n}")));
        pages.push(format!("/bikes/{bike}/measure"));
    }
    client.form("/new", &[("why", "sister"), ("of", "0117")]).await;
    pages.extend([
        "/bikes/0129/measure".to_owned(),
        "/bikes/0129/measure/23".to_owned(),
        "/bikes/0129/measure/38".to_owned(),
    ]);
    for part in job.split("href=\"/bikes/0109/holds/").skip(1) {
        pages.push(format!("/bikes/0109/holds/{}", part.split('"').next().unwrap_or("")));
    }
    pages.sort();
    pages.dedup();
    for path in pages {
        let answer = client.get(&path).await;
        assert_eq!(answer.status, 200, "{path}: {}", answer.text);
        let readable: String =
            answer.text.split('<').map(|p| p.split_once('>').map_or("", |(_, t)| t)).collect::<Vec<_>>().join(" ");
        for start in [
            "page.",
            "app.",
            "link.",
            "fact.",
            "verdict.",
            "card.",
            "token.",
            "sum.",
            "lever.",
            "origin.",
            "settings.",
            "ride.",
            "office.",
            "rule.",
            "keeper.",
        ] {
            for at in readable.match_indices(start).map(|(at, _)| at) {
                let free = !readable[..at].ends_with(|c: char| c.is_alphanumeric() || c == '.');
                let key = readable[at + start.len()..].starts_with(|c: char| c.is_ascii_lowercase());
                assert!(!(free && key), "{path} shows `{}`", &readable[at..].chars().take(50).collect::<String>());
            }
        }
    }
}

/// The table asks four links, not all: its heading says which, and no other one is ever named in it.
#[tokio::test]
async fn the_heading_of_the_most_braking_names_every_link_that_is_asked() {
    let asked = [
        ("motor-current", "set current"),
        ("axle-hold", "axle"),
        ("tyre-grip", "wet road"),
        ("charge-amps", "charge limit"),
    ];
    let client = Client::demo();
    let mut seen = std::collections::BTreeSet::new();
    for bike in ["0117", "0109", "0124"] {
        let page = client.get(&format!("/bikes/{bike}/holds")).await.text;
        let more = client.get(&format!("/bikes/{bike}/advice")).await.text;
        let all = page + &more;
        let Some((_, rest)) = all.split_once("<h2>Most braking at each speed") else { continue };
        let heading = rest.split("</h2>").next().expect("a heading");
        let rows = rest.split("<tbody>").nth(1).and_then(|r| r.split("</tbody>").next()).expect("a table");
        for row in rows.split("</tr>").filter(|row| row.contains("<td")) {
            let name = row.rsplit("<td>").next().and_then(|r| r.split("</td>").next()).expect("a link");
            let is = |id: &str| workbench::words::text(&format!("link.{id}.name")) == name;
            let (id, words) = asked.iter().find(|(id, _)| is(id)).unwrap_or_else(|| panic!("{name} is not asked"));
            assert!(heading.contains(words), "{bike}: {heading} does not name {name}");
            seen.insert(*id);
        }
    }
    assert!(seen.len() > 1, "{seen:?}");
}
