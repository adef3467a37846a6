//! `backdrive book` as a person types it.

use std::path::{Path, PathBuf};
use std::process::Command;

struct Said {
    code: i32,
    out: String,
    err: String,
}

fn demo(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo").join(name).display().to_string()
}

/// A folder of its own for each test, gone at its end.
struct Shop(PathBuf);

impl Shop {
    fn new(name: &str) -> Self {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        Self(folder)
    }
    fn path(&self, name: &str) -> String {
        self.0.join(name).display().to_string()
    }
    fn book(&self, arguments: &[&str]) -> Said {
        let mut command = Command::new(env!("CARGO_BIN_EXE_backdrive"));
        command.arg("book").args(arguments).env("XDG_DATA_HOME", &self.0).env("USER", "Mirra");
        let done = command.output().unwrap();
        let text = |bytes| String::from_utf8(bytes).unwrap();
        Said { code: done.status.code().unwrap(), out: text(done.stdout), err: text(done.stderr) }
    }
    fn fine(&self, arguments: &[&str]) -> String {
        let said = self.book(arguments);
        assert_eq!(said.code, 0, "{arguments:?}: {}", said.err);
        said.out
    }
    fn json(&self, arguments: &[&str]) -> serde_json::Value {
        serde_json::from_str(&self.fine(&[arguments, &["--format", "json"]].concat())).unwrap()
    }
}

impl Drop for Shop {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

#[test]
fn a_day_with_the_book() {
    let shop = Shop::new("a-day");
    let none = shop.book(&["list"]);
    assert_eq!(none.code, 2);
    assert!(none.err.contains("book add"), "{}", none.err);

    let (first, second) = (demo("0117-bread-longtail.toml"), demo("0121-folding-commuter.toml"));
    assert_eq!(shop.fine(&["add", &first, &second]), "0117\n0121\n");
    let text = std::fs::read_to_string(&first).unwrap();
    assert_eq!(shop.fine(&["show", "0117", "--format", "toml"]), text);
    let again = shop.book(&["add", &first]);
    assert_eq!((again.code, again.err.contains("0117")), (2, true), "{}", again.err);

    let key = "axle.left.nut_torque";
    shop.fine(&["set", "0117", key, "72 N·m, chosen with W2", "--who", "Jossel"]);
    let clash = shop.book(&["set", "0117", key, "76 N·m", "--from", "1"]);
    assert_eq!(clash.code, 1);
    assert!(
        clash.err.contains("Jossel") && clash.err.contains("72 N·m") && clash.err.contains("76 N·m"),
        "{}",
        clash.err
    );

    let worse = shop.book(&["set", "0117", key, "72 N"]);
    assert_eq!(worse.code, 2);
    assert!(worse.err.contains(key) && worse.err.contains("N·m"), "{}", worse.err);
    shop.fine(&["set", "0121", "one_in", "10000"]);
    assert!(shop.fine(&["show", "0121", "--format", "toml"]).contains("one_in = 10000\n"));

    let history = shop.json(&["history", "0117"]);
    let last = history["changes"].as_array().unwrap().last().unwrap();
    assert_eq!((last["who"].as_str(), last["values"][0]["key"].as_str()), (Some("Jossel"), Some(key)));
    shop.fine(&["undo", &last["change"].to_string()]);
    assert_eq!(shop.fine(&["show", "0117", "--format", "toml"]), text);
    assert!(shop.fine(&["history", "0117"]).contains("taken back by"));

    assert_eq!(shop.json(&["list"])["jobs"].as_array().unwrap().len(), 2);
    assert_eq!(shop.fine(&["list", "--format", "csv"]).lines().count(), 3);
    assert!(shop.fine(&["list", "--stage", "quote"]).contains("no job"));
    assert!(shop.fine(&["find", "folding"]).contains("0121"));
    assert_eq!(shop.book(&["find", "unicorn"]).code, 1);
    assert_eq!(shop.book(&["show", "0999"]).code, 2);
    assert_eq!(shop.book(&["lost"]).code, 2);

    let bad = shop.path("bad.toml");
    std::fs::write(&bad, "number = \"0300\"\nname = \"x\"\n[axle.left]\nnut_torque = \"80 N\"\n").unwrap();
    let refused = shop.book(&["add", &bad]);
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("nut_torque"), "{}", refused.err);
    assert_eq!(shop.json(&["list"])["jobs"].as_array().unwrap().len(), 2);
}

#[test]
fn keeping_and_carrying() {
    let shop = Shop::new("keeping");
    shop.fine(&["add", &demo("0117-bread-longtail.toml")]);
    shop.fine(&["attach", "0117", &demo("rack.toml"), "--slot", "log"]);
    let copy = shop.path("copy.toml");
    shop.fine(&["fetch", "0117", "rack.toml", "--to", &copy]);
    assert_eq!(std::fs::read(&copy).unwrap(), std::fs::read(demo("rack.toml")).unwrap());
    assert_eq!(shop.book(&["fetch", "0117", "rack.toml", "--to", &copy]).code, 2, "nothing is written over");

    let backup = shop.path("backup.sqlite");
    assert_eq!(shop.fine(&["backup", "--to", &backup]).trim(), backup);
    assert_eq!(shop.json(&["verify"])["faults"], serde_json::json!([]));
    assert_eq!(shop.json(&["verify", &backup])["files"], 1);
    assert_eq!(shop.book(&["backup", "--to", &backup]).code, 2);

    assert_eq!(shop.book(&["erase-rider", "0117", "--also", "Ansa Perrol"]).code, 2, "asks first");
    shop.fine(&["erase-rider", "0117", "--also", "Ansa Perrol", "--yes"]);
    assert!(!shop.fine(&["show", "0117"]).contains("Perrol"));
    let out = shop.path("out.sqlite");
    shop.fine(&["export", "0117", "--to", &out]);
    let other = shop.path("other.sqlite");
    shop.fine(&["import", &out, "--book", &other]);
    assert_eq!(shop.json(&["--book", &other, "list"])["jobs"][0]["number"], "0117");

    let restored = shop.book(&["restore", &backup]);
    assert_eq!(restored.code, 0, "{}", restored.err);
    assert!(restored.err.contains("erased again"), "{}", restored.err);
    assert!(!shop.fine(&["show", "0117"]).contains("Perrol"));

    let mut bytes = std::fs::read(&backup).unwrap();
    let at = bytes.windows(7).position(|w| w == b"class =").unwrap();
    bytes[at] = b'K';
    std::fs::write(&backup, bytes).unwrap();
    let faulty = shop.book(&["verify", &backup]);
    assert_eq!(faulty.code, 1);
    assert!(faulty.out.contains("digest") || faulty.out.contains("history"), "{}", faulty.out);
    assert_eq!(shop.book(&["restore", &backup]).code, 3);
}
