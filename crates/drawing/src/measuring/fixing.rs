//! What fixes the axle: bolts of the arm, its anchor, recess and bore.

use super::Art;
use crate::svg::Hold;

/// The head of a pinching arm, its slit and two bolts across it.
pub fn pinch_bolts(a: &mut Art) {
    a.part("M40,70 H150 Q166,70 166,86 V122 H40 Q28,122 28,110 V82 Q28,70 40,70 Z");
    a.part("M40,136 H166 V172 Q166,188 150,188 H40 Q28,188 28,176 V148 Q28,136 40,136 Z");
    a.part("M166,84 L318,110 Q332,113 332,129 Q332,145 318,148 L166,174 Z");
    a.axle_end(62.0, 129.0, 24.0, 18.0, false);
    for x in [108.0, 142.0] {
        a.svg.rect("piece", x - 12.0, 50.0, 24.0, 20.0, 4.0);
        a.svg.rect("piece", x - 5.0, 70.0, 10.0, 132.0, 2.0);
        a.svg.path("part thin", &format!("M{},54 V66", x));
    }
    a.measure((103.0, 218.0), (113.0, 218.0));
    a.name("name", Hold::Start, 124.0, 223.0);
    a.say("gap", Hold::Start, 184.0, 134.0);
    a.say("how", Hold::Start, 176.0, 44.0);
    a.say("how-2", Hold::Start, 176.0, 62.0);
}

/// The mark on a bolt's head.
pub fn bolt_grade(a: &mut Art) {
    a.part("M58,72 H128 L163,132 L128,192 H58 L23,132 Z");
    a.svg.circle("part thin", 93.0, 132.0, 52.0);
    a.svg.text("bold", 30.0, Hold::Middle, 93.0, 142.0, "8.8");
    a.part("M220,84 H248 V180 H220 Z");
    a.part("M248,112 H334 V152 H248 Z");
    a.thin("M262,112 l6,40 M276,112 l6,40 M290,112 l6,40 M304,112 l6,40 M318,112 l6,40");
    a.name("name", Hold::Start, 22.0, 44.0);
    a.say("how", Hold::Start, 22.0, 222.0);
    a.say("how-2", Hold::Start, 22.0, 240.0);
}

/// The far end of the arm on the stay.
pub fn anchor(a: &mut Art) {
    a.svg.path("piece", "M14,158 L346,122 V164 L14,200 Z");
    a.part("M14,84 L246,108 Q270,112 270,134 Q270,156 246,156 L14,128 Z");
    a.svg.circle("piece", 242.0, 133.0, 18.0);
    a.part("M232,124 h20 l0,18 h-20 Z");
    a.svg.path("paint", "M260,126 L288,120");
    a.measure((224.0, 84.0), (260.0, 84.0));
    a.thin("M224,94 V116 M260,94 V116");
    a.name("name", Hold::Start, 272.0, 78.0);
    a.say("stay", Hold::Start, 28.0, 216.0);
    a.say("arm", Hold::Start, 28.0, 72.0);
    a.say("mark", Hold::Start, 262.0, 206.0);
    a.say("how", Hold::Start, 28.0, 238.0);
}

/// Calliper over the tube to which an arm is anchored.
pub fn anchor_tube(a: &mut Art) {
    a.svg.circle("piece", 140.0, 150.0, 40.0);
    a.svg.circle("part unknown", 140.0, 150.0, 33.0);
    a.calliper(100.0, 164.0, 80.0);
    a.measure((100.0, 213.0), (180.0, 213.0));
    a.name("name", Hold::Start, 196.0, 218.0);
    a.say("how", Hold::Start, 222.0, 150.0);
    a.say("how-2", Hold::Start, 222.0, 169.0);
}

/// A washer over the recess of a dropout, cut through, with a straight edge.
pub fn recess(a: &mut Art) {
    a.part("M40,150 H112 V168 H140 V214 H40 Z");
    a.part("M320,150 H248 V168 H220 V214 H320 Z");
    a.svg.rect("piece", 96.0, 132.0, 168.0, 18.0, 2.0);
    a.svg.rect("part solid", 140.0, 60.0, 80.0, 154.0, 2.0);
    a.measure((112.0, 228.0), (248.0, 228.0));
    a.thin("M112,170 V220 M248,170 V220");
    a.name("name", Hold::Start, 258.0, 242.0);
    a.say("washer", Hold::Start, 272.0, 138.0);
    a.say("axle", Hold::Middle, 180.0, 48.0);
    a.say("how", Hold::Start, 4.0, 90.0);
    a.say("how-2", Hold::Start, 4.0, 108.0);
}

/// The hole of an axle, measured with the inner jaws.
pub fn bore(a: &mut Art) {
    a.axle_end(160.0, 84.0, 62.0, 48.0, true);
    a.svg.circle("piece", 160.0, 84.0, 30.0);
    a.calliper_inside(130.0, 92.0, 60.0);
    a.measure((130.0, 22.0), (190.0, 22.0));
    a.thin("M130,32 V80 M190,32 V80");
    a.name("name", Hold::Start, 234.0, 28.0);
    a.say("how", Hold::Start, 234.0, 78.0);
    a.say("how-2", Hold::Start, 234.0, 96.0);
    a.say("exit", Hold::Start, 22.0, 226.0);
}
