//! Motor: wires, volts, drag, torque.

use super::Art;
use crate::svg::{Hold, n};

pub fn wires(a: &mut Art) {
    // Hub, three wires, their plug.
    a.svg.circle("piece", 52.0, 150.0, 40.0).circle("part", 52.0, 150.0, 9.0);
    a.svg.path("line", "M92,130 H214 M92,150 H214 M92,170 H214");
    a.svg.rect("piece", 200.0, 116.0, 34.0, 68.0, 4.0);
    a.svg.path("line", "M234,130 h16 M234,150 h16 M234,170 h16");
    // The supply feeds through two wires, the meter reads at the same pins.
    a.svg.rect("tool", 130.0, 18.0, 96.0, 54.0, 6.0).rect("display", 140.0, 28.0, 76.0, 24.0, 2.0);
    a.svg.text("bold", 14.0, Hold::Middle, 178.0, 45.0, "5.0 A");
    a.lead("M160,72 V130 M196,72 V98 H176 V150");
    a.svg.circle("rivet", 160.0, 130.0, 4.0).circle("rivet", 176.0, 150.0, 4.0);
    a.meter(282.0, 36.0, "mV");
    a.lead("M300,122 V130 H252 M326,122 V150 H252");
    a.svg.circle("rivet", 252.0, 130.0, 4.0).circle("rivet", 252.0, 150.0, 4.0);
    a.name("name", Hold::Start, 20.0, 216.0);
    a.say("how", Hold::Start, 20.0, 238.0);
}

pub fn volts(a: &mut Art) {
    a.wheel(104.0, 128.0, 84.0);
    a.arrow("M40,36 Q66,12 104,14", (38.0, 38.0), (-8.0, 10.0));
    a.svg.path("line", "M121,120 H206 M121,128 H222 M121,136 H206");
    a.svg.rect("piece", 198.0, 106.0, 26.0, 44.0, 3.0);
    a.meter(266.0, 58.0, "V~");
    a.lead("M284,144 V160 H250 V120 H224 M310,144 V172 H238 V136 H224");
    a.say("way", Hold::Start, 116.0, 20.0);
    a.name("name", Hold::Start, 200.0, 206.0);
    a.say("how", Hold::Start, 200.0, 228.0);
}

pub fn drag(a: &mut Art) {
    a.wheel(112.0, 140.0, 84.0);
    a.lead("M112,56 H262");
    a.scale(282.0, 56.0);
    a.arrow("M302,56 H338", (342.0, 56.0), (1.0, 0.0));
    a.svg.path("line", "M112,140 H214 m8,0 h18");
    a.svg.rect("piece", 200.0, 128.0, 18.0, 24.0, 2.0).rect("piece", 232.0, 128.0, 18.0, 24.0, 2.0);
    a.say("unplugged", Hold::Start, 204.0, 172.0);
    a.say("way", Hold::Start, 238.0, 98.0);
    a.name("name", Hold::Start, 204.0, 212.0);
    a.say("how", Hold::Start, 204.0, 234.0);
}

pub fn torque(a: &mut Art) {
    a.wheel(104.0, 138.0, 84.0);
    a.lead("M188,138 H188 V66");
    a.scale(188.0, 46.0);
    a.lead("M188,27 V8 M160,8 H216");
    a.arrow("M60,32 Q104,10 146,30", (148.0, 31.0), (10.0, 6.0));
    a.measure((104.0, 230.0), (188.0, 230.0));
    a.thin("M104,142 V220 M188,142 V220");
    a.say("fixed", Hold::Start, 226.0, 16.0);
    a.name("name", Hold::Start, 214.0, 132.0);
    a.name("name-2", Hold::Start, 214.0, 152.0);
    a.say("how", Hold::Start, 214.0, 176.0);
    a.say("how-2", Hold::Start, 214.0, 194.0);
}

/// A point on a circle around (x, y); `turn` in twelfths, from the top.
fn clock(x: f64, y: f64, radius: f64, turn: usize) -> (f64, f64) {
    // Sines of twelfths of a turn: 0, 1/2, √3/2, 1.
    const S: [f64; 12] = [0.0, 0.5, 0.866, 1.0, 0.866, 0.5, 0.0, -0.5, -0.866, -1.0, -0.866, -0.5];
    (x + radius * S[turn % 12], y - radius * S[(turn + 3) % 12])
}

pub fn lock(a: &mut Art) {
    let (x, y) = (112.0, 128.0);
    a.svg.circle("piece", x, y, 92.0).circle("piece", x, y, 58.0).circle("piece", x, y, 22.0);
    for turn in [0, 2, 4, 6, 8, 10] {
        let (from, to) = (clock(x, y, 58.0, turn), clock(x, y, 58.0, turn + 1));
        a.svg.path("paint", &format!("M{},{} A58,58 0 0 1 {},{}", n(from.0), n(from.1), n(to.0), n(to.1)));
    }
    a.svg.circle("key", x, y, 3.5);
    let at = clock(x, y, 58.0, 3);
    a.measure((x, y), at);
    a.name("radius", Hold::Start, 214.0, 133.0);
    a.name("name", Hold::Start, 196.0, 44.0);
    a.thin("M142,76 L190,48");
    a.say("how", Hold::Start, 214.0, 166.0);
    a.say("how-2", Hold::Start, 214.0, 184.0);
    a.say("how-3", Hold::Start, 214.0, 202.0);
}

pub fn teeth(a: &mut Art) {
    let (x, y) = (112.0, 124.0);
    a.svg.circle("piece", x, y, 100.0).circle("part", x, y, 86.0).circle("piece", x, y, 24.0);
    for turn in [0, 4, 8] {
        let c = clock(x, y, 54.0, turn);
        a.svg.circle("piece", c.0, c.1, 30.0).circle("part thin", c.0, c.1, 24.0).circle("part", c.0, c.1, 6.0);
    }
    for turn in 0..12 {
        let (o, i) = (clock(x, y, 86.0, turn), clock(x, y, 92.0, turn));
        a.thin(&format!("M{},{} L{},{}", n(o.0), n(o.1), n(i.0), n(i.1)));
    }
    a.name("name", Hold::Start, 226.0, 60.0);
    a.say("ring", Hold::Start, 226.0, 98.0);
    a.say("planet", Hold::Start, 226.0, 120.0);
    a.say("sun", Hold::Start, 226.0, 142.0);
    a.thin("M222,94 L206,98 M222,116 L182,158 M222,138 L136,126");
    a.say("how", Hold::Start, 20.0, 244.0);
}

pub fn runout(a: &mut Art) {
    // Between two V-blocks, the dial on top.
    a.part("M34,214 V150 L58,176 L82,150 V214 Z");
    a.part("M206,214 V150 L230,176 L254,150 V214 Z");
    a.svg.rect("piece", 24.0, 148.0, 242.0, 18.0, 4.0);
    a.svg.rect("piece", 110.0, 108.0, 70.0, 98.0, 4.0);
    a.svg.rect("tool", 141.0, 66.0, 8.0, 42.0, 2.0);
    a.svg.circle("tool", 145.0, 42.0, 30.0);
    a.tool("M145,42 L160,24");
    a.svg.path("line", "M14,214 H274");
    a.arrow("M276,140 Q296,157 276,174", (274.0, 175.0), (-8.0, 5.0));
    a.name("name", Hold::Start, 190.0, 34.0);
    a.say("how", Hold::Start, 190.0, 56.0);
    a.say("how-2", Hold::Start, 190.0, 74.0);
    a.say("turn", Hold::Start, 298.0, 162.0);
    a.say("how-3", Hold::Start, 14.0, 238.0);
}
