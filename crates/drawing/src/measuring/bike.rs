//! Torque arm, frame, wheel, whole bike.

use super::Art;
use crate::svg::{Hold, n};

pub fn arm_length(a: &mut Art) {
    a.part("M52,96 Q40,104 40,130 Q40,156 52,164 Q74,172 108,160 L286,146 Q302,144 302,130 Q302,116 286,114 L108,100 Q74,88 52,96 Z");
    a.axle_end(84.0, 130.0, 26.0, 20.0, true);
    a.svg.circle("piece", 284.0, 130.0, 9.0);
    a.measure((84.0, 200.0), (284.0, 200.0));
    a.thin("M84,162 V190 M284,146 V190");
    a.name("name", Hold::Middle, 184.0, 224.0);
    a.say("how", Hold::Middle, 184.0, 66.0);
}

pub fn clearance(a: &mut Art) {
    a.svg.rect("piece", 70.0, 30.0, 18.0, 200.0, 3.0);
    a.svg.rect("piece", 124.0, 72.0, 130.0, 92.0, 10.0);
    a.svg.circle("part", 160.0, 118.0, 17.0).circle("part", 218.0, 118.0, 17.0);
    a.svg.rect("part solid", 290.0, 30.0, 8.0, 150.0, 2.0);
    a.svg.circle("pea", 106.0, 118.0, 18.0);
    a.measure((88.0, 190.0), (124.0, 190.0));
    a.thin("M124,166 V180");
    a.say("arm", Hold::Middle, 79.0, 22.0);
    a.say("caliper", Hold::Middle, 189.0, 62.0);
    a.name("name", Hold::Start, 138.0, 195.0);
    a.say("how", Hold::Start, 138.0, 216.0);
    a.say("how-2", Hold::Start, 138.0, 234.0);
}

pub fn magnet(a: &mut Art) {
    a.part("M40,190 L200,120 Q214,84 262,84 Q318,84 318,140 V214 H284 V160 A20,20 0 0 0 244,160 V214 H210 L206,176 L50,226 Z");
    for (i, (x, y)) in [(92.0, 188.0), (226.0, 126.0), (300.0, 190.0)].into_iter().enumerate() {
        a.svg.circle("key", x, y, 11.0).text("bold reverse", 13.0, Hold::Middle, x, y + 4.6, &(i + 1).to_string());
    }
    a.tool(
        "M196,98 L172,44 Q162,18 188,8 Q214,-2 226,24 L250,78 L236,84 L212,31 Q206,18 194,22 Q182,28 188,40 L210,92 Z",
    );
    a.say("how", Hold::Start, 22.0, 40.0);
    a.say("how-2", Hold::Start, 22.0, 60.0);
    a.say("how-3", Hold::Start, 22.0, 80.0);
}

pub fn roll_out(a: &mut Art) {
    a.ground(14.0, 346.0, 190.0);
    a.wheel(84.0, 120.0, 70.0);
    a.svg.circle("ghost", 276.0, 120.0, 70.0);
    a.svg.path("paint", "M84,184 V196 M276,184 V196");
    a.measure((84.0, 216.0), (276.0, 216.0));
    a.name("name", Hold::Middle, 180.0, 242.0);
    a.arrow("M150,66 Q180,52 210,66", (210.0, 66.0), (10.0, 6.0));
    a.arrow("M84,14 V44", (84.0, 46.0), (0.0, 1.0));
    a.say("rider", Hold::Start, 98.0, 30.0);
}

/// A bike from its right side, wheels standing at (x, y) and (x + 190, y).
fn bike(a: &mut Art, x: f64, y: f64) {
    let (r, f) = (x, x + 190.0);
    a.wheel(r, y - 42.0, 42.0);
    a.wheel(f, y - 42.0, 42.0);
    let (hub, front) = (y - 42.0, y - 42.0);
    let frame = format!(
        "M{},{hub} L{},{} L{},{} L{},{} L{},{} M{},{} L{},{} M{},{} L{},{front} M{},{} h-22 M{},{} h-30",
        n(r),
        n(r + 84.0),
        n(hub),
        n(r + 64.0),
        n(y - 112.0),
        n(r + 148.0),
        n(y - 104.0),
        n(r + 84.0),
        n(hub),
        n(r),
        n(hub),
        n(r + 68.0),
        n(y - 100.0),
        n(r + 144.0),
        n(y - 126.0),
        n(f),
        n(r + 78.0),
        n(y - 124.0),
        n(r + 152.0),
        n(y - 132.0),
        hub = n(hub),
        front = n(front)
    );
    a.svg.path("line", &frame);
}

pub fn centre_ahead(a: &mut Art) {
    a.ground(14.0, 346.0, 196.0);
    a.svg.rect("tool", 222.0, 186.0, 70.0, 10.0, 2.0);
    a.svg.rect("part solid", 32.0, 186.0, 70.0, 10.0, 0.0);
    bike(a, 66.0, 186.0);
    a.measure((66.0, 230.0), (256.0, 230.0));
    a.name("wheelbase", Hold::Middle, 161.0, 235.0);
    a.say("scale", Hold::Start, 304.0, 180.0);
    a.say("block", Hold::Start, 112.0, 180.0);
    a.say("how", Hold::Start, 12.0, 26.0);
}

pub fn slope(a: &mut Art) {
    a.svg.path("line", "M14,216 L346,150");
    a.thin("M14,216 H346");
    a.svg.path("piece", "M64,190 L284,146 L286,158 L66,202 Z");
    a.tool("M132,136 L214,120 L222,158 L140,174 Z");
    a.svg.text("bold", 18.0, Hold::Middle, 178.0, 155.0, "4°");
    a.measure((64.0, 92.0), (282.0, 48.0));
    a.name("plank", Hold::Start, 22.0, 60.0);
    a.name("name", Hold::Start, 200.0, 236.0);
    a.say("how", Hold::Start, 22.0, 30.0);
    a.say("how-2", Hold::Start, 22.0, 240.0);
}

pub fn stop_test(a: &mut Art) {
    a.ground(14.0, 346.0, 176.0);
    a.svg.path("paint", "M60,170 V182");
    bike(a, 112.0, 176.0);
    a.svg.path("paint", "M302,170 V182");
    a.measure((60.0, 208.0), (302.0, 208.0));
    a.name("name", Hold::Start, 60.0, 236.0);
    a.say("how", Hold::Start, 14.0, 24.0);
    a.say("how-2", Hold::Start, 14.0, 42.0);
    a.say("chalk", Hold::Start, 14.0, 162.0);
}
