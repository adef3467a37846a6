//! Screenshots of the pages that matter, in three widths, light and dark, and as printed: `cargo run -p e2e --bin shots`.

use e2e::{Bench, Device, TO_GET_IT, browser_or_skip};
use std::path::PathBuf;

const PAGES: [(&str, &str); 38] = [
    ("stand", "/"),
    ("new", "/new"),
    ("holds-0117", "/bikes/0117/holds"),
    ("holds-0109", "/bikes/0109/holds"),
    ("link", "/bikes/0109/holds/left-faces"),
    ("measure", "/bikes/0117/measure"),
    ("group", "/bikes/0117/measure/24"),
    ("group-arms", "/bikes/0117/measure/28"),
    ("group-tube", "/bikes/0117/measure/37"),
    ("quick-3", "/bikes/0117/measure/quick/3"),
    ("quick-9", "/bikes/0117/measure/quick/9"),
    ("quick", "/bikes/0117/measure/quick/10"),
    ("world", "/bikes/0117/holds?if=left-nut-slack"),
    ("photos", "/bikes/0117/files"),
    ("slot", "/bikes/0117/files?slot=p08"),
    ("back", "/bikes/0109/back"),
    ("hand-over", "/bikes/0117/back"),
    ("due", "/due"),
    ("result", "/bikes/0109/quick-result"),
    ("key-in", "/bikes/0117/key-in"),
    ("hill", "/bikes/0117/hill"),
    ("talk", "/bikes/0117/talk"),
    ("papers", "/bikes/0117/papers"),
    ("notice", "/bikes/0117/papers/notice"),
    ("choices", "/bikes/0109/quote"),
    ("quote", "/bikes/0117/quote"),
    ("quote-sheet", "/bikes/0117/quote/sheet"),
    ("consent", "/bikes/0117/consent"),
    ("consent-sheet", "/bikes/0117/consent/sheet"),
    ("refusal", "/bikes/0121/refusal"),
    ("stages", "/bikes/0117/stages"),
    ("prices", "/prices"),
    ("history", "/bikes/0117/history"),
    ("sum", "/sums/tightening-torque"),
    ("shelf", "/shelf"),
    ("rack", "/rack"),
    ("rules", "/rules"),
    ("card", "/help/m12?bike=0117"),
];
const SIZES: [(u32, u32); 3] = [(360, 780), (768, 1024), (1280, 860)];

#[tokio::main(flavor = "multi_thread")]
async fn main() {
    if !browser_or_skip("screenshots") {
        eprintln!("{TO_GET_IT}");
        return;
    }
    let folder = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| "target/shots".to_owned()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let wanted: Vec<String> = std::env::args().skip(2).collect();
    let bench = Bench::open(true).await;
    let device = Device::start(1280, 860).await;
    device.open(&bench, "/bikes/0117/hill").await;
    device.fill("descent", "7 %, 133 m").await;
    device.press("Take this descent").await;
    device.wait_for("With the clutch locked").await;
    device.papers(&bench).await;
    for dark in [false, true] {
        device.open(&bench, "/you").await;
        device.fill("who", "Mirra Stobel").await;
        device.choose("theme", if dark { "dark" } else { "light" }).await;
        device.press("Save").await;
        device.wait_at("/").await;
        for (name, path) in PAGES {
            if !wanted.is_empty() && !wanted.iter().any(|w| w == name) {
                continue;
            }
            for (width, height) in SIZES {
                device.size(width, height).await;
                device.open(&bench, path).await;
                settle(&device).await;
                let tall = device.number("return document.documentElement.scrollHeight").await;
                device.size(width, (tall as u32).clamp(height, 4000)).await;
                let look = if dark { "dark" } else { "light" };
                let png = device.web.screenshot_as_png().await.expect("a picture");
                std::fs::write(folder.join(format!("{name}-{width}-{look}.png")), png).expect("written");
            }
            if !dark {
                // What the printer would get, as a picture of an upright sheet's width.
                device.size(794, 1123).await;
                device.tell("Emulation.setEmulatedMedia", serde_json::json!({ "media": "print" })).await;
                device.open(&bench, path).await;
                settle(&device).await;
                let tall = device.number("return document.documentElement.scrollHeight").await;
                device.size(794, (tall as u32).clamp(1123, 4000)).await;
                let png = device.web.screenshot_as_png().await.expect("a picture");
                std::fs::write(folder.join(format!("{name}-print.png")), png).expect("written");
                device.tell("Emulation.setEmulatedMedia", serde_json::json!({ "media": "" })).await;
            }
        }
    }
    println!("{}", folder.display());
    device.stop().await;
}

/// Waits until what is asked for later is there.
async fn settle(device: &Device) {
    for _ in 0..100 {
        if device.number("return document.querySelectorAll('.later > a[href]').length").await < 1.0 {
            return;
        }
        tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    }
}
