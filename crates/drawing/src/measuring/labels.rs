//! What is read off: capacitors, charger, plugs, the clamp round a wire.

use super::Art;
use crate::svg::Hold;

/// A clamp meter round one wire of the pack.
pub fn clamp(a: &mut Art) {
    a.svg.rect("piece", 20.0, 66.0, 96.0, 74.0, 8.0);
    a.svg.rect("part", 34.0, 80.0, 68.0, 46.0, 4.0);
    a.svg.path("line", "M116,84 H340 M116,122 H340");
    a.tool("M196,106 A22,26 0 1 1 232,106 L226,98 A13,17 0 1 0 202,98 Z");
    a.svg.rect("tool", 190.0, 104.0, 48.0, 110.0, 8.0).rect("display", 196.0, 134.0, 36.0, 24.0, 2.0);
    a.svg.text("bold", 13.0, Hold::Middle, 214.0, 151.0, "A");
    a.say("pack", Hold::Middle, 68.0, 58.0);
    a.name("name", Hold::Start, 242.0, 160.0);
    a.say("how", Hold::Start, 242.0, 182.0);
    a.say("how-2", Hold::Start, 242.0, 200.0);
    a.say("wire", Hold::Start, 244.0, 66.0);
    a.say("how-3", Hold::Start, 20.0, 238.0);
}

/// Print on a capacitor and on the controller's label: the lower one counts.
pub fn capacitors(a: &mut Art) {
    a.svg.rect("piece", 26.0, 84.0, 76.0, 118.0, 14.0);
    a.thin("M88,84 V202 M26,104 H102");
    a.svg.text("bold", 17.0, Hold::Middle, 58.0, 142.0, "63 V");
    a.svg.text("bold", 14.0, Hold::Middle, 58.0, 166.0, "470 µF");
    a.svg.path("line", "M46,202 V222 M82,202 V222");
    a.svg.rect("piece", 146.0, 84.0, 190.0, 118.0, 8.0);
    a.svg.rect("part", 164.0, 104.0, 154.0, 78.0, 3.0);
    a.svg.text("bold", 17.0, Hold::Middle, 241.0, 138.0, "48 V  22 A");
    a.name("name", Hold::Start, 26.0, 50.0);
    a.say("pack", Hold::Middle, 241.0, 164.0);
    a.say("capacitor", Hold::Start, 26.0, 74.0);
    a.say("label", Hold::Start, 146.0, 74.0);
    a.say("how", Hold::Start, 100.0, 232.0);
}

/// The charger's label.
pub fn charger(a: &mut Art) {
    a.svg.rect("piece", 46.0, 60.0, 208.0, 124.0, 12.0);
    a.svg.rect("part", 66.0, 80.0, 168.0, 84.0, 3.0);
    a.svg.text("bold", 24.0, Hold::Middle, 150.0, 118.0, "54.6 V");
    a.svg.text("", 17.0, Hold::Middle, 150.0, 146.0, "2.0 A");
    a.lead("M254,122 H300 V96 M14,122 H46");
    a.svg.circle("piece", 300.0, 82.0, 14.0).circle("part", 300.0, 82.0, 5.0);
    a.name("name", Hold::Start, 46.0, 214.0);
    a.say("how", Hold::Start, 46.0, 236.0);
    a.say("label", Hold::Start, 46.0, 46.0);
}

/// One plug for both ways, or one for each.
pub fn plugs(a: &mut Art) {
    for (x, two) in [(24.0, false), (204.0, true)] {
        a.svg.rect("piece", x, 62.0, 132.0, 92.0, 10.0);
        a.svg.text("bold", 24.0, Hold::Middle, x + 66.0, 116.0, if two { "2" } else { "1" });
        let outs: &[f64] = if two { &[34.0, 98.0] } else { &[66.0] };
        for dx in outs {
            a.svg.path("line", &format!("M{},154 v24", x + dx));
            a.svg.rect("piece", x + dx - 14.0, 178.0, 28.0, 18.0, 4.0);
        }
    }
    a.arrow("M76,204 V216", (76.0, 214.0), (0.0, 1.0));
    a.arrow("M104,216 V204", (104.0, 206.0), (0.0, -1.0));
    a.arrow("M238,204 V216", (238.0, 214.0), (0.0, 1.0));
    a.arrow("M302,216 V204", (302.0, 206.0), (0.0, -1.0));
    a.name("one", Hold::Middle, 90.0, 52.0);
    a.name("two", Hold::Middle, 270.0, 52.0);
    a.say("how", Hold::Middle, 180.0, 240.0);
}
