//! Numbers and names as this person reads them.

use crate::person::Person;
use maud::{Markup, html};
use quantity::text::{self, Decimal, Spread, print};
use quantity::units::{System, Unit, find_unit, preferred_unit};
use workbench::check::{LinkResult, State, Verdict};
use workbench::fact::{self, Fact, FactId, Shape};
use workbench::say::{self, figure};
use workbench::words;

/// A number with comma or point.
pub fn number(value: f64, person: &Person) -> String {
    let plain = figure(value);
    if person.decimal == Decimal::Comma { plain.replace('.', ",") } else { plain }
}

/// The unit in which this person wants what is given in `unit`.
pub fn unit_for(unit: &str, person: &Person) -> &'static Unit {
    let own = find_unit(unit).unwrap_or(Unit::one());
    if person.units == System::Metric || own.system == System::Both {
        return own;
    }
    preferred_unit(own.kind(), System::Imperial).filter(|u| u.matches(own)).unwrap_or(own)
}

/// A number with its unit, in this person's units.
pub fn quantity(value: f64, unit: &str, person: &Person) -> String {
    let own = find_unit(unit).unwrap_or(Unit::one());
    let shown = unit_for(unit, person);
    let value = if shown == own { value } else { shown.from_si(own.to_si(value)) };
    with_unit(&number(value, person), shown.symbol)
}

fn with_unit(number: &str, symbol: &str) -> String {
    match symbol {
        "" => number.to_owned(),
        "°" => format!("{number}°"),
        symbol => format!("{number} {symbol}"),
    }
}

/// Demand of capacity: `98 of 26 N·m`.
pub fn pair(l: &LinkResult, person: &Person) -> String {
    let Some(load) = l.load else { return String::new() };
    let unit = l.link.kind.unit();
    let of = words::text("app.of");
    let demand = number_in(load.drive.max(load.brake), unit, person);
    format!("{demand} {of} {}", quantity(load.capacity, unit, person))
}

fn number_in(value: f64, unit: &str, person: &Person) -> String {
    let own = find_unit(unit).unwrap_or(Unit::one());
    let shown = unit_for(unit, person);
    number(if shown == own { value } else { shown.from_si(own.to_si(value)) }, person)
}

/// How full, or nothing.
pub fn full(l: &LinkResult) -> String {
    l.load.map_or_else(String::new, |x| say::percent(x.full))
}

/// What is known of a fact, in this person's units; as it was written where the units are the same.
pub fn known(id: FactId, f: &Fact, person: &Person) -> String {
    let (def, _) = fact::describe(id);
    match def.shape {
        Shape::Choice(tokens) => tokens.get(f.value as usize).map_or_else(|| f.text.clone(), |t| answer(t)),
        Shape::Count { .. } => number(f.value, person),
        Shape::Quantity { unit, .. } => {
            let Ok(reading) = text::parse(&f.text, Decimal::Point) else { return quantity_si(f.value, unit, person) };
            if person.units == System::Metric || unit_for(reading.unit.symbol, person) == reading.unit {
                return if person.decimal == Decimal::Comma { f.text.replace('.', ",") } else { f.text.clone() };
            }
            let shown = unit_for(reading.unit.symbol, person);
            let value = |si: f64| print(si, shown, 4, person.decimal);
            match reading.spread {
                Spread::None => value(reading.value_si),
                Spread::PlusMinusShare(share) => {
                    format!("{} ± {} %", value(reading.value_si), number(share * 100.0, person))
                }
                Spread::PlusMinusSi(half) => {
                    format!("{} ± {}", value(reading.value_si), number(shown.difference_from_si(half), person))
                }
                Spread::Range { low_si, high_si } => {
                    format!("{} {} {}", value(low_si), words::text("page.to"), value(high_si))
                }
            }
        }
    }
}

fn quantity_si(si: f64, unit: &str, person: &Person) -> String {
    print(si, unit_for(unit, person), 4, person.decimal)
}

/// An answer in words.
pub fn answer(token: &str) -> String {
    words::find(&format!("token.{token}")).map_or_else(|| token.to_owned(), str::to_owned)
}

/// The word of a result.
pub fn word(v: Verdict) -> String {
    words::text(&format!("verdict.{}.word", v.token()))
}

/// The small sign of a result: shape alone tells it, without colour.
pub fn glyph(v: Verdict) -> Markup {
    html! {
        svg.glyph viewBox="0 0 40 40" width="40" height="40" aria-hidden="true" fill="none" stroke="currentColor" {
            @match v {
                Verdict::Holds => { rect x="5" y="10" width="30" height="20" rx="10" stroke-width="3" {} }
                Verdict::Marginal => {
                    rect x="5" y="10" width="30" height="20" rx="10" stroke-width="5" {}
                    path d="M24,3 l-5,8 l6,5 l-4,6" stroke-width="2.5" {}
                }
                Verdict::Fails => {
                    path d="M18,8 H13 a9,9 0 0 0 0,20 H17 M24,13 H28 a9,9 0 0 1 0,20 H22" stroke-width="4.5" {}
                    path d="M22,3 l-5,9 l6,6 l-5,9 l5,10" stroke-width="2" {}
                }
                Verdict::NotKnown => {
                    rect x="5" y="8" width="30" height="24" rx="12" stroke-width="2.5" stroke-dasharray="5 4" {}
                    text x="20" y="26" font-size="17" font-weight="700" text-anchor="middle" fill="currentColor" stroke="none" { "?" }
                }
                Verdict::Refused => {
                    path d="M13,4 H27 L36,13 V27 L27,36 H13 L4,27 V13 Z" stroke-width="3.5" {}
                    path d="M12,28 L28,12" stroke-width="4.5" {}
                }
            }
        }
    }
}

/// What the axle does, as a small picture of its flats in their slot.
pub fn axle_sign(state: Option<State>) -> Markup {
    html! {
        svg.axle viewBox="0 0 96 64" width="96" height="64" aria-hidden="true" fill="none" stroke="currentColor" stroke-width="2.5" {
            path d="M4,12 H36 V58 M92,12 H60 V58" {}
            @match state {
                None => { text x="48" y="46" font-size="26" font-weight="700" text-anchor="middle" fill="currentColor" stroke="none" { "?" } }
                Some(State::Still | State::Working) => { rect x="38" y="24" width="20" height="26" {} }
                Some(State::Seated) => {
                    path d="M40,23 L59,26 L56,51 L37,48 Z" {}
                    path d="M66,24 q10,12 2,26 m-4,-7 l4,7 l6,-5" {}
                }
                Some(State::Rocking | State::Spins) => {
                    path d="M40,23 L59,26 L56,51 L37,48 Z" {}
                    path d="M37,26 L56,23 L59,48 L40,51 Z" stroke-width="1.2" {}
                    path d="M66,24 q10,12 2,26 m-4,-7 l4,7 l6,-5 M30,24 q-10,12 -2,26 m4,-7 l-4,7 l-6,-5" {}
                }
            }
        }
    }
}

/// The bar of a link: filled up to how full it is, a tick at 100 %, filled mark for driving, hollow for braking.
pub fn bar(l: &LinkResult, large: bool) -> Markup {
    let Some(load) = l.load else { return html! {} };
    let place = |share: f64| (share.clamp(0.0, 1.5) * 200.0).round();
    let over = load.full > 1.5;
    let each = |demand: f64| {
        // A link whose "how full" is no plain quotient shows its marks at the same share.
        let most = load.drive.max(load.brake);
        if most > 0.0 { load.full * (demand / most) } else { 0.0 }
    };
    let (drive, brake) = (place(each(load.drive)), place(each(load.brake)));
    let middle = l.middle.map(|m| place(m.full));
    let class = if large { "bar large" } else { "bar" };
    html! {
        svg class=(class) viewBox="-6 0 324 24" preserveAspectRatio="none" aria-hidden="true" {
            rect.back x="0" y="4" width="300" height="9" {}
            rect class={ "fill" @if l.mostly_assumed { " assumed" } } x="0" y="4" width=(place(load.full)) height="9" {}
            @if l.mostly_assumed {
                @for i in 0..(place(load.full) / 8.0) as u32 { path.hatch d=(format!("M{},13 l5,-9", i * 8)) {} }
            }
            @if let Some(m) = middle { path.whisker d=(format!("M{m},8.5 H{}", place(load.full))) {} }
            path.tick d="M200,0 V17" {}
            @if load.drive > 0.0 { path.mark d=(format!("M{drive},14 l5,9 h-10 Z")) {} }
            @if load.brake > 0.0 { path class="mark hollow" d=(format!("M{brake},14 l5,9 h-10 Z")) {} }
            @if over { path.tick d="M304,4 l5,4.5 l-5,4.5 M310,4 l5,4.5 l-5,4.5" {} }
        }
    }
}

/// Where a value comes from, with its tool.
pub fn origin(f: &Fact) -> String {
    let word = words::text(&format!("origin.{}", f.origin.token()));
    match &f.tool {
        Some(tool) => format!("{word}, {tool}"),
        None => word,
    }
}
