//! The job file of a sister: the other bike's build, and nothing of its rider, its photos or its tests.

use crate::bike::Bike;
use crate::field;
use jobbook::{Edit, edit};
use workbench::fact::{self, Origin};
use workbench::sister;

/// The job file; its comments and remarks stay with the other bike.
pub fn text(of: &Bike, name: &str) -> Option<String> {
    let kind = of.kind();
    let mut edits = vec![Edit::put("number", "0000"), Edit::put("name", name)];
    if let Some(kind) = &kind {
        edits.push(Edit::put("kind", kind.as_str()));
    }
    edits.push(Edit::put("one_in", 1000));
    let arms = of.arms();
    for id in (0..fact::count(arms) as u16).filter_map(fact::nth) {
        let name = fact::describe(id).1;
        let Some(there) = field::on_file(of, id) else { continue };
        let value = sister::as_on(id, &there, of.number(), kind.as_deref(), &of.shop.shop.rack);
        edits.extend(value.map(|v| Edit::put(&name, v)));
    }
    edit::apply("", &edits).ok()
}

/// How many values still stand as on another bike, and on which.
pub fn taken_over(bike: &Bike) -> Option<(usize, String)> {
    let ids = (0..fact::count(bike.arms()) as u16).filter_map(fact::nth);
    let from: Vec<String> = ids
        .filter_map(|id| field::on_file(bike, id))
        .filter(|f| f.origin == Origin::Assumed)
        .filter_map(|f| f.tool?.strip_prefix(fact::AS_ON).map(str::to_owned))
        .collect();
    Some((from.len(), from.first()?.clone()))
}
