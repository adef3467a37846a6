//! An audit by axe-core (Deque, MPL-2.0; fetched at test time, never kept here): nothing serious on any page, in light
//! and dark, on a phone and on a desk.

use e2e::{Bench, Device, browser_or_skip};
use std::path::PathBuf;
use std::process::Command;

const PAGES: [&str; 46] = [
    "/",
    "/new",
    "/you",
    "/pair",
    "/rack",
    "/rules",
    "/shelf",
    "/help",
    "/help/m12",
    "/sums",
    "/sums/preload?torque=80+N%C2%B7m",
    "/bikes/0117/holds",
    "/bikes/0109/holds/left-faces",
    "/bikes/0126/holds",
    "/bikes/0117/measure",
    "/bikes/0117/measure/28",
    "/bikes/0117/measure/quick/9",
    "/bikes/0109/quick-result",
    "/bikes/0117/hill",
    "/bikes/0117/talk",
    "/bikes/0117/papers",
    "/bikes/0117/papers/notice",
    "/bikes/0117/quote",
    "/bikes/0117/quote/sheet",
    "/bikes/0109/quote",
    "/bikes/0121/quote",
    "/bikes/0121/refusal",
    "/bikes/0126/quote",
    "/bikes/0117/consent",
    "/bikes/0117/consent/sheet",
    "/bikes/0109/consent",
    "/bikes/0117/stages",
    "/prices",
    "/bikes/0117/history",
    "/bikes/0117/files",
    "/bikes/0117/files?slot=p08",
    "/bikes/0109/back",
    "/bikes/0117/back",
    "/due",
    "/bikes/0117/holds?if=left-nut-slack",
    "/bikes/0117/measure/14",
    "/bikes/0117/measure/24",
    "/bikes/0117/measure/37",
    "/help/m7",
    "/bikes/0117/file",
    "/nothing-here",
];
const RUN: &str = "const done = arguments[arguments.length - 1];
    axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] })
       .then((r) => done(r.violations.filter((v) => ['serious', 'critical'].includes(v.impact))
       .map((v) => v.id + ': ' + v.help + ' ' + v.nodes.slice(0, 3).map((n) => n.html).join(' | '))));";

/// The audit's script, from the package registry through its own client.
fn axe() -> Option<String> {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("axe");
    let script = folder.join("node_modules/axe-core/axe.min.js");
    if !script.is_file() {
        std::fs::create_dir_all(&folder).ok()?;
        let fetched = Command::new("npm")
            .args(["install", "--silent", "--no-audit", "--no-fund", "--prefix"])
            .arg(&folder)
            .arg("axe-core@4.11")
            .status();
        if !fetched.is_ok_and(|s| s.success()) {
            return None;
        }
    }
    std::fs::read_to_string(script).ok()
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_serious_stands_in_anybodys_way() {
    if !browser_or_skip("nothing_serious_stands_in_anybodys_way") {
        return;
    }
    let Some(axe) = axe() else {
        eprintln!("skipped, the audit cannot be fetched; to run it: npm install axe-core (needs npm and a network)");
        return;
    };
    let bench = Bench::open(true).await;
    let device = Device::start(1280, 900).await;
    device.papers(&bench).await;
    let mut found = Vec::new();
    for (theme, width) in [("light", 1280), ("dark", 360)] {
        device.size(1280, 900).await;
        device.open(&bench, "/you").await;
        device.fill("who", "Mirra Stobel").await;
        device.choose("theme", theme).await;
        device.press("Save").await;
        device.wait_at("/").await;
        device.size(width, 900).await;
        for path in PAGES {
            device.open(&bench, path).await;
            device.web.execute(axe.as_str(), Vec::new()).await.expect("the audit loads");
            let said = device.web.execute_async(RUN, Vec::new()).await.expect("the audit runs");
            for one in said.json().as_array().into_iter().flatten() {
                found.push(format!("{path} {theme} {width}: {}", one.as_str().unwrap_or("?")));
            }
        }
    }
    device.stop().await;
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// Fingers in gloves: what can be touched is large enough, on a phone and on a tablet.
#[tokio::test(flavor = "multi_thread")]
async fn targets_are_large_enough_for_gloves() {
    if !browser_or_skip("targets_are_large_enough_for_gloves") {
        return;
    }
    const SMALL: &str = "return [...document.querySelectorAll('button, input:not([type=hidden]):not([type=radio]), select, summary, .tile, .plate:not(svg *), .picture a, .rail a, .card, .links a, .groups a')]
        .filter((e) => e.checkVisibility()).map((e) => [e, e.getBoundingClientRect()]).filter(([, r]) => r.width > 0 && (r.height < 47.5 || r.width < 47.5))
        .map(([e, r]) => e.outerHTML.slice(0, 90) + ' ' + Math.round(r.width) + 'x' + Math.round(r.height));";
    let bench = Bench::open(true).await;
    let device = Device::start(768, 1024).await;
    device.papers(&bench).await;
    let mut found = Vec::new();
    for width in [360, 768] {
        device.size(width, 900).await;
        for path in PAGES {
            device.open(&bench, path).await;
            let said = device.web.execute(SMALL, Vec::new()).await.expect("measured");
            found.extend(said.json().as_array().into_iter().flatten().map(|s| format!("{path} {width}: {s}")));
            let over = device.number("return document.documentElement.scrollWidth - innerWidth").await;
            if over > 0.5 {
                found.push(format!("{path} {width}: {over} px wider than the screen"));
            }
        }
    }
    device.stop().await;
    assert!(found.is_empty(), "{}", found.join("\n"));
}
