//! Axle, nut, dropout.

use super::Art;
use crate::svg::{Hold, n};

/// Crests of a thread along a line, `teeth` of them, each `pitch` wide.
fn crests(x: f64, y: f64, pitch: f64, teeth: usize, up: f64) -> String {
    let mut d = format!("M{},{}", n(x), n(y));
    for _ in 0..teeth {
        d += &format!(" l{},{} l{},{}", n(pitch / 2.0), n(-up), n(pitch / 2.0), n(up));
    }
    d
}

pub fn across_flats(a: &mut Art) {
    a.axle_end(140.0, 150.0, 44.0, 34.0, true);
    a.svg.circle("part thin", 140.0, 150.0, 13.0);
    a.calliper(106.0, 164.0, 68.0);
    a.measure((106.0, 213.0), (174.0, 213.0));
    a.name("name", Hold::Start, 190.0, 218.0);
    a.say("how", Hold::Start, 200.0, 155.0);
}

pub fn diameter(a: &mut Art) {
    a.axle_end(140.0, 150.0, 44.0, 33.0, false);
    a.thin("M107,133 A37,37 0 0 0 107,167 M173,133 A37,37 0 0 1 173,167");
    a.calliper(96.0, 164.0, 88.0);
    a.measure((96.0, 213.0), (184.0, 213.0));
    a.name("name", Hold::Start, 200.0, 218.0);
    a.say("how", Hold::Start, 210.0, 155.0);
}

pub fn pitch(a: &mut Art) {
    let below: String = (0..18).map(|_| " l-8,9 l-8,-9").collect();
    a.part(&format!("{} V172{below} Z", crests(40.0, 112.0, 16.0, 18, 9.0)));
    a.thin("M40,142 H328");
    a.measure((80.0, 76.0), (240.0, 76.0));
    a.thin("M80,86 V102 M240,86 V102");
    a.name("name", Hold::Middle, 160.0, 58.0);
    a.svg.rect("tool", 56.0, 190.0, 240.0, 24.0, 2.0);
    let ticks: String =
        (0..=28).map(|i| format!("M{},190 v{} ", 64 + 8 * i, if i % 5 == 0 { 11 } else { 6 })).collect();
    a.svg.path("part thin", ticks.trim_end());
    a.say("how", Hold::Start, 40.0, 236.0);
}

pub fn slot(a: &mut Art) {
    a.part("M70,30 H250 Q262,30 262,42 V138 H190 V92 A30,30 0 0 0 130,92 V138 H58 V42 Q58,30 70,30 Z");
    a.calliper_inside(130.0, 104.0, 60.0);
    a.measure((130.0, 48.0), (190.0, 48.0));
    a.thin("M130,58 V88 M190,58 V88");
    a.name("name", Hold::Start, 205.0, 53.0);
    a.say("how", Hold::Start, 40.0, 228.0);
}

pub fn thickness(a: &mut Art) {
    a.svg.rect("piece", 130.0, 78.0, 28.0, 160.0, 3.0);
    a.calliper(130.0, 150.0, 28.0);
    a.svg.path("dim", "M130,190 v30 M158,190 v30");
    a.measure((130.0, 205.0), (158.0, 205.0));
    a.name("name", Hold::Start, 176.0, 210.0);
    a.say("how", Hold::Start, 176.0, 158.0);
    a.say("how-2", Hold::Start, 176.0, 177.0);
}

pub fn washer(a: &mut Art) {
    a.svg.circle("piece", 140.0, 150.0, 56.0).circle("piece", 140.0, 150.0, 24.0);
    a.svg.circle("part unknown", 140.0, 150.0, 46.0);
    a.calliper(84.0, 164.0, 112.0);
    a.measure((84.0, 222.0), (196.0, 222.0));
    a.name("name", Hold::Start, 212.0, 227.0);
    a.say("how", Hold::Start, 224.0, 150.0);
    a.say("how-2", Hold::Start, 224.0, 169.0);
}

pub fn free_thread(a: &mut Art) {
    a.part(&format!("M60,108 H150 {} V188 H60 Z", crests(150.0, 108.0, 12.0, 9, 5.0).replace('M', "L")));
    a.svg.path("part", &crests(150.0, 188.0, 12.0, 9, -5.0));
    a.svg.rect("piece", 42.0, 84.0, 54.0, 128.0, 4.0);
    a.svg.rect("piece", 112.0, 60.0, 30.0, 176.0, 3.0);
    // The depth rod stands on the dropout, the body on the axle's end.
    a.svg.path("tool", "M258,84 H142 v7 H258");
    a.svg.rect("tool", 258.0, 74.0, 92.0, 46.0, 4.0);
    a.svg.rect("display", 276.0, 86.0, 52.0, 20.0, 2.0);
    a.measure((142.0, 48.0), (258.0, 48.0));
    a.thin("M258,58 V74 M142,58 V80");
    a.name("name", Hold::Middle, 200.0, 32.0);
    a.say("dropout", Hold::End, 104.0, 230.0);
    a.say("how", Hold::Start, 156.0, 222.0);
}

pub fn nut_height(a: &mut Art) {
    a.part("M112,104 H164 Q172,112 172,130 V176 Q172,194 164,202 H112 Q104,194 104,176 V130 Q104,112 112,104 Z");
    a.thin("M104,136 H172 M104,170 H172");
    a.calliper(104.0, 160.0, 68.0);
    a.measure((104.0, 222.0), (172.0, 222.0));
    a.name("name", Hold::Start, 190.0, 227.0);
    a.say("how", Hold::Start, 200.0, 150.0);
    a.say("how-2", Hold::Start, 200.0, 169.0);
}

/// A nut from the front, with its washer.
fn nut(a: &mut Art, x: f64, y: f64) {
    a.svg.circle("piece", x, y, 54.0);
    a.part(&format!("M{},{} h42 l21,36 l-21,36 h-42 l-21,-36 Z", n(x - 21.0), n(y - 36.0)));
    a.axle_end(x, y, 18.0, 14.0, true);
}

pub fn nut_torque(a: &mut Art) {
    nut(a, 96.0, 150.0);
    // A ring spanner lies around the nut.
    a.tool("M154,138 L318,98 q15,-2 18,9 q1,10 -11,14 L154,164 A60,60 0 1 1 154,138 Z M140,150 A44,44 0 1 0 52,150 A44,44 0 1 0 140,150 Z");
    a.svg.path("paint", "M96,110 V80");
    a.arrow("M324,134 Q318,156 304,172", (303.0, 174.0), (-9.0, 14.0));
    a.say("mark", Hold::Start, 108.0, 74.0);
    a.name("name", Hold::Start, 152.0, 206.0);
    a.say("how", Hold::Start, 152.0, 228.0);
}

pub fn play(a: &mut Art) {
    a.part("M60,120 H142 V176 A38,38 0 0 0 218,176 V120 H300 V240 H60 Z");
    a.axle_end(180.0, 172.0, 36.0, 30.0, true);
    a.tool("M166,168 L168,60 Q180,44 192,60 L194,168 Z");
    a.svg.rect("tool", 150.0, 26.0, 60.0, 98.0, 8.0).rect("display", 156.0, 36.0, 48.0, 74.0, 2.0);
    a.svg.text("bold", 18.0, Hold::Middle, 180.0, 80.0, "°");
    a.arrow("M120,52 Q98,66 86,88", (86.0, 88.0), (-10.0, 20.0));
    a.arrow("M240,52 Q262,66 274,88", (274.0, 88.0), (10.0, 20.0));
    a.name("name", Hold::Start, 236.0, 38.0);
    a.say("how", Hold::Middle, 180.0, 232.0);
}

pub fn faces(a: &mut Art) {
    for (i, key) in ["bare", "painted", "plated", "oily"].into_iter().enumerate() {
        let (x, y) = (92.0 + 176.0 * (i % 2) as f64, 62.0 + 118.0 * (i / 2) as f64);
        a.svg.circle("piece", x, y, 44.0);
        let (thin, outline) = (
            format!("M{},{} l40,-14 m-48,26 l60,-22 m-56,32 l58,-20", n(x - 26.0), n(y - 8.0)),
            format!("M{},{} q16,-26 40,-8 q26,6 10,28 q-10,24 -38,12 q-26,-8 -12,-32 Z", n(x - 22.0), n(y)),
        );
        let drop = format!("M{},{} q-18,26 0,34 q18,-8 0,-34 Z", n(x + 26.0), n(y - 20.0));
        match i {
            0 => a.svg.path("part thin", &thin),
            1 => a.svg.path("piece", &outline),
            2 => a.svg.circle("part thin", x, y, 37.0).circle("part thin", x, y, 31.0),
            _ => a.svg.path("piece", &drop),
        };
        a.axle_end(x, y, 14.0, 11.0, true);
        a.name(key, Hold::Middle, x, y + 62.0);
    }
}

pub fn hold_test(a: &mut Art) {
    nut(a, 74.0, 140.0);
    a.svg.path("paint", "M74,100 V76");
    a.tool("M92,131 H318 v18 H92 l-8,-4 v-10 Z");
    a.measure((74.0, 52.0), (310.0, 52.0));
    a.thin("M74,62 V70 M310,62 V128");
    a.name("length", Hold::Middle, 192.0, 40.0);
    a.lead("M310,149 V172");
    a.scale(310.0, 191.0);
    a.arrow("M310,212 V240", (310.0, 242.0), (0.0, 1.0));
    a.svg.path("dim", "M298,149 v12 h12");
    a.say("mark", Hold::Start, 100.0, 92.0);
    a.say("how", Hold::End, 280.0, 196.0);
    a.say("how-2", Hold::End, 280.0, 216.0);
}
