//! A real browser walks through the workbench: what a technician does on the day of the demo, screenshots, and an audit
//! for people who read with ears or keys.
//!
//! Needs Debian's packages chromium and chromium-driver (or others that put `chromium` and `chromedriver` on the path).

use jobbook::{Book, By as Writer, Kind, NewFile, NewJob};
use page::{App, Options};
use std::io::{BufRead, BufReader};
use std::net::SocketAddr;
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use thirtyfour::prelude::*;

/// What brings the browser.
pub const TO_GET_IT: &str = "apt-get install -y chromium chromium-driver";

/// Jobs of the demo shop.
pub const DEMO: [&str; 5] = [
    include_str!("../../../demo/0126-second-hauler.toml"),
    include_str!("../../../demo/0124-compact-hauler.toml"),
    include_str!("../../../demo/0121-folding-commuter.toml"),
    include_str!("../../../demo/0109-bread-longtail-as-found.toml"),
    include_str!("../../../demo/0117-bread-longtail.toml"),
];
/// The demo shop's parts and prices.
pub const SHOP: [(&str, &str); 2] =
    [("shelf", include_str!("../../../demo/shelf.toml")), ("prices", include_str!("../../../demo/prices.toml"))];
/// The demo shop's tools.
pub const RACK: &str = include_str!("../../../demo/rack.toml");

/// A card with a finding.
const CAME_BACK: &str = "job = \"0109\"\ndate = \"2026-06-01\"\nodometer = \"1100 km\"\nleft_nut = \"74 N·m\"\n\
    right_nut = \"41 N·m\"\npull = \"402 g\"\nnotes = \"paint left under the right washer\"\ndecision = \"stop\"\n\
    [marks]\nleft_nut = \"0 °\"\nright_nut = \"12 °\"\narm = \"0 °\"\nanchor = \"0 °\"\n";
/// A photo that is none of anybody's: a grey square of one pixel.
const PHOTO: &[u8] = &[
    0x89, 0x50, 0x4e, 0x47, 0xd, 0xa, 0x1a, 0xa, 0x0, 0x0, 0x0, 0xd, 0x49, 0x48, 0x44, 0x52, 0x0, 0x0, 0x0, 0x1, 0x0,
    0x0, 0x0, 0x1, 0x8, 0x0, 0x0, 0x0, 0x0, 0x3a, 0x7e, 0x9b, 0x55, 0x0, 0x0, 0x0, 0xa, 0x49, 0x44, 0x41, 0x54, 0x78,
    0x9c, 0x63, 0x68, 0x0, 0x0, 0x0, 0x82, 0x0, 0x81, 0x77, 0xcd, 0x72, 0xb6, 0x0, 0x0, 0x0, 0x0, 0x49, 0x45, 0x4e,
    0x44, 0xae, 0x42, 0x60, 0x82,
];

/// Whether there is a browser; says what brings it where there is none.
pub fn browser_or_skip(test: &str) -> bool {
    let there =
        |name: &str| Command::new(name).arg("--version").stdout(Stdio::null()).stderr(Stdio::null()).status().is_ok();
    let both = there("chromedriver") && (there("chromium") || there("google-chrome"));
    if !both {
        eprintln!("{test}: skipped, there is no browser to drive; to run it: {TO_GET_IT}");
    }
    both
}

/// A workbench that is really listening.
pub struct Bench {
    /// Where.
    pub address: SocketAddr,
    /// Its book, to put something in behind its back.
    pub app: std::sync::Arc<App>,
    stop: Option<tokio::sync::oneshot::Sender<()>>,
    _folder: tempfile::TempDir,
}

impl Bench {
    /// With the demo shop, or with an empty book that has the shop's rack, shelf and prices.
    pub async fn open(demo: bool) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let book = Book::open(folder.path().join("e2e.book")).expect("a book");
        let by = Writer::new("Mirra Stobel", "bench 1");
        book.set_document("rack", RACK, 0, &by).expect("a rack");
        for (name, text) in SHOP {
            book.set_document(name, text, 0, &by).expect("a text of the shop");
        }
        if demo {
            for text in DEMO {
                book.new_job(&NewJob { kind: Kind::Convert, of: None, text }, &by).expect("a job");
            }
            // Both were handed over on one day; one of them came back with a fault.
            for bike in ["0109", "0124"] {
                let card =
                    format!("job = \"{bike}\"\ndate = \"2026-03-05\"\nodometer = \"1000 km\"\nhand_over = true\n");
                book.set_document(&format!("{bike}/back-0001"), &card, 0, &by).expect("a card");
            }
            book.set_document("0109/back-0002", CAME_BACK, 0, &by).expect("a card");
            for (slot, n) in [("p08", 1), ("p08", 2), ("p15", 3)] {
                let name = format!("{slot}-{n}.png");
                let file = NewFile { name: &name, media_type: "image/png", slot, personal: false, bytes: PHOTO };
                book.attach("0117", &file, &by).expect("a photo");
            }
        }
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let address = listener.local_addr().expect("an address");
        let options = Options { listen: address, hosts: Vec::new(), passphrase: None, demo };
        let app = App::new(book, options).expect("a workbench");
        let mut bench = Self { address, app, stop: None, _folder: folder };
        bench.listen(listener);
        bench
    }

    fn listen(&mut self, listener: tokio::net::TcpListener) {
        let (stop, stopped) = tokio::sync::oneshot::channel();
        let router = page::router(self.app.clone());
        self.stop = Some(stop);
        tokio::spawn(async move {
            tokio::select! {
                served = async { axum::serve(listener, router).await } => served.expect("served"),
                _ = stopped => {}
            }
        });
    }

    /// The shop's computer is gone: no new connection is answered. Returns when its port is free.
    pub async fn vanish(&mut self) {
        if let Some(stop) = self.stop.take() {
            let _ = stop.send(());
        }
        tokio::time::sleep(Duration::from_millis(300)).await;
    }

    /// It is back at the same address.
    pub async fn come_back(&mut self) {
        for _ in 0..50 {
            if let Ok(listener) = tokio::net::TcpListener::bind(self.address).await {
                self.listen(listener);
                return;
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        panic!("the port did not become free");
    }

    /// Address of a page.
    pub fn at(&self, path: &str) -> String {
        format!("http://{}{path}", self.address)
    }
}

/// A browser of its own, one device.
pub struct Device {
    /// Steers it.
    pub web: WebDriver,
    driver: Child,
}

impl Device {
    /// Starts one with a window of that size.
    pub async fn start(width: u32, height: u32) -> Self {
        let mut driver = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver starts");
        let mut lines = BufReader::new(driver.stdout.take().expect("its output")).lines();
        let port = lines
            .by_ref()
            .map_while(Result::ok)
            .filter_map(|l| l.rsplit_once("on port ").map(|(_, p)| p.trim().trim_end_matches('.').to_owned()))
            .find(|p| p != "0")
            .expect("chromedriver names its port");
        // Somebody must go on reading, or the driver waits for ever.
        std::thread::spawn(move || lines.map_while(Result::ok).for_each(drop));
        let mut caps = DesiredCapabilities::chrome();
        for arg in [
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--hide-scrollbars",
            "--force-device-scale-factor=1",
        ] {
            caps.add_arg(arg).expect("an argument");
        }
        caps.add_arg(&format!("--window-size={width},{height}")).expect("an argument");
        let web = WebDriver::new(&format!("http://127.0.0.1:{port}"), caps).await.expect("the browser starts");
        let device = Self { web, driver };
        device.size(width, height).await;
        device
    }

    /// Makes the page that large, whatever frame the window has.
    pub async fn size(&self, width: u32, height: u32) {
        let metrics = serde_json::json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false });
        self.tell("Emulation.setDeviceMetricsOverride", metrics).await;
    }

    /// A command to the browser itself.
    pub async fn tell(&self, what: &str, how: serde_json::Value) -> serde_json::Value {
        self.web.cdp().send_raw(what, how).await.unwrap_or_else(|e| panic!("{what}: {e}"))
    }

    /// Says who holds it.
    pub async fn belongs_to(&self, bench: &Bench, who: &str, device: &str) {
        self.web.goto(bench.at("/you")).await.expect("a page");
        self.fill("who", who).await;
        self.fill("device", device).await;
        self.press("Save").await;
        self.wait_for("The stand").await;
    }

    /// Opens a page.
    pub async fn open(&self, bench: &Bench, path: &str) {
        self.web.goto(bench.at(path)).await.expect("a page");
    }

    /// Types into the field of that name.
    pub async fn fill(&self, name: &str, text: &str) {
        // A page that is made anew by what others write can take the field away between two keys; a person types again.
        let mut tries = 5;
        loop {
            let typed = async {
                let field = self.web.find(By::Name(name)).await?;
                field.clear().await?;
                field.send_keys(text).await
            };
            match typed.await {
                Ok(()) => return,
                Err(e) if tries == 0 => panic!("{name} cannot be typed: {e}"),
                Err(_) => tries -= 1,
            }
            tokio::time::sleep(Duration::from_millis(200)).await;
        }
    }

    /// Touches the tile of that field with that value.
    pub async fn choose(&self, name: &str, value: &str) {
        let tile = format!("input[name=\"{name}\"][value=\"{value}\"]");
        let tile =
            self.web.find(By::Css(tile.as_str())).await.unwrap_or_else(|e| panic!("no tile {name}={value}: {e}"));
        tile.click().await.expect("touched");
    }

    /// Takes and accepts the quote of 0117 and says yes to its consent, so that those pages have something to show.
    pub async fn papers(&self, bench: &Bench) {
        self.open(bench, "/bikes/0117/quote").await;
        self.press("Take A").await;
        self.wait_for("Quote 0117-1").await;
        self.sign("Ansa Perrol").await;
        self.press("Accept this quote").await;
        self.wait_for("Signed by Ansa Perrol on the screen").await;
        self.open(bench, "/bikes/0117/consent").await;
        for left in (0..7).rev() {
            self.press_one(if left == 1 { "I will come: 6" } else { "I understand: " }).await;
            self.wait_for(&if left == 0 {
                "All sentences".to_owned()
            } else {
                format!("{left} sentences are still open")
            })
            .await;
        }
    }

    /// Writes a name and draws in the field beside it with one finger.
    pub async fn sign(&self, who: &str) {
        self.fill("signer", who).await;
        let field = self.web.find(By::Css(".sign canvas")).await.expect("a field to sign in");
        field.scroll_into_view().await.expect("in sight");
        let size = field.rect().await.expect("its place");
        let at = |x: f64, y: f64| ((x * size.width) as i64, (y * size.height) as i64);
        let mut finger = self.web.action_chain().move_to_element_center(&field).click_and_hold();
        for (x, y) in [(-0.1, -0.3), (0.1, 0.3), (0.1, -0.3), (0.1, 0.3)] {
            let (x, y) = at(x, y);
            finger = finger.move_by_offset(x, y);
        }
        finger.release().perform().await.expect("drawn");
    }

    /// Presses the first button whose text begins so, that which only ears hear included.
    pub async fn press_one(&self, start: &str) {
        self.press_first(start, &format!("(//button[starts-with(normalize-space(), \"{start}\")])[1]")).await;
    }

    /// Presses the first button or link with that text.
    pub async fn press(&self, text: &str) {
        let path = format!("(//button[normalize-space()=\"{text}\"] | //a[normalize-space()=\"{text}\"])[1]");
        self.press_first(text, &path).await;
    }

    /// A page that is swapped in place between finding and pressing is looked at anew, as a person would.
    async fn press_first(&self, what: &str, path: &str) {
        for swapped in 0.. {
            let button = self.web.find(By::XPath(path)).await.unwrap_or_else(|e| panic!("no button {what}: {e}"));
            match button.click().await {
                Ok(()) => return,
                Err(e) if swapped < 20 && e.to_string().contains("stale element") => {
                    tokio::time::sleep(Duration::from_millis(100)).await;
                }
                Err(e) => panic!("{what} cannot be pressed: {e}"),
            }
        }
    }

    /// All that can be read on the page.
    pub async fn text(&self) -> String {
        match self.web.find(By::Tag("body")).await {
            Ok(body) => body.text().await.unwrap_or_default(),
            Err(_) => String::new(),
        }
    }

    /// Waits until that can be read.
    pub async fn wait_for(&self, text: &str) {
        for _ in 0..150 {
            if self.text().await.contains(text) {
                return;
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        panic!("`{text}` did not appear; there is: {}", self.text().await);
    }

    /// Waits until the address ends so.
    pub async fn wait_at(&self, end: &str) {
        for _ in 0..150 {
            if self.path().await.ends_with(end) {
                return;
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        panic!("not at {end} but at {}: {}", self.path().await, self.text().await);
    }

    /// Path of the page that is open.
    pub async fn path(&self) -> String {
        self.web.current_url().await.map(|u| u.path().to_owned()).unwrap_or_default()
    }

    /// A number that a piece of script gives.
    pub async fn number(&self, script: &str) -> f64 {
        let got = self.web.execute(script, Vec::new()).await.expect("script runs");
        got.json().as_f64().unwrap_or(f64::NAN)
    }

    /// Ends it.
    pub async fn stop(mut self) {
        let _ = self.web.clone().quit().await;
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}
