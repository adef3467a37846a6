//! Motor: wires, volts, drag, torque.

use super::Art;
use crate::svg::Hold;

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
