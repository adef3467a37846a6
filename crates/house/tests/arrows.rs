//! Crate arrows, licences, and one version of everything in the core: from what cargo itself resolves.

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

use cargo_metadata::{CargoOpt, DependencyKind, Metadata, MetadataCommand, Package, PackageId};
use house::{ARROWS, LICENCE_EXCEPTIONS, LICENCES, root};

/// What cargo resolves for this machine, from the committed lock file.
fn metadata() -> Metadata {
    let version = Command::new("rustc").arg("-vV").output().expect("rustc runs");
    let version = String::from_utf8(version.stdout).expect("rustc prints UTF-8");
    let host = version.lines().find_map(|line| line.strip_prefix("host: ")).expect("rustc names its host");
    MetadataCommand::new()
        .manifest_path(root().join("Cargo.toml"))
        .features(CargoOpt::AllFeatures)
        .other_options(vec!["--locked".to_owned(), "--filter-platform".to_owned(), host.to_owned()])
        .exec()
        .expect("cargo metadata runs; `Cargo.lock` is committed and up to date")
}

fn package<'a>(metadata: &'a Metadata, id: &PackageId) -> &'a Package {
    metadata.packages.iter().find(|package| &package.id == id).expect("every resolved package is listed")
}

#[test]
fn crate_arrows_are_on_the_list() {
    let metadata = metadata();
    let ours: BTreeSet<String> = metadata.workspace_packages().iter().map(|package| package.name.to_string()).collect();
    let mut wrong = Vec::new();
    for package in metadata.workspace_packages() {
        let Some(arrows) = ARROWS.iter().find(|arrows| arrows.name == package.name.as_str()) else {
            wrong.push(format!("crate `{}` is not on the list in crates/house/src/lib.rs", package.name));
            continue;
        };
        for dependency in &package.dependencies {
            let name = dependency.name.as_str();
            if ours.contains(name) {
                if !arrows.inner.contains(&name) {
                    wrong.push(format!("`{}` must not depend on `{name}`; allowed: {:?}", package.name, arrows.inner));
                }
            } else if let Some(outer) = arrows.outer
                && dependency.kind != DependencyKind::Development
                && !outer.contains(&name)
            {
                wrong.push(format!("`{}` must not use the library `{name}`; allowed: {outer:?}", package.name));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_list_itself_points_down() {
    for (place, arrows) in ARROWS.iter().enumerate() {
        for inner in arrows.inner {
            let below = ARROWS[..place].iter().any(|lower| lower.name == *inner);
            assert!(below, "`{}` may use `{inner}`, which does not stand above it in the list", arrows.name);
            assert!(!matches!(*inner, "app" | "validation" | "house"), "nobody depends on `{inner}`");
        }
    }
}

#[test]
fn licences_are_allowed() {
    let metadata = metadata();
    let mut wrong = Vec::new();
    for package in &metadata.packages {
        let name = package.name.as_str();
        let Some(licence) = package.license.as_deref() else {
            wrong.push(format!("`{name}` names no licence"));
            continue;
        };
        if LICENCE_EXCEPTIONS.iter().any(|(excepted, under, _)| *excepted == name && *under == licence) {
            continue;
        }
        match spdx::Expression::parse_mode(licence, spdx::ParseMode::LAX) {
            Ok(expression) => {
                let fine = expression
                    .evaluate(|requirement| requirement.license.id().is_some_and(|id| LICENCES.contains(&id.name)));
                if !fine {
                    wrong.push(format!("`{name}` comes under {licence}"));
                }
            }
            Err(error) => wrong.push(format!("`{name}`: licence {licence} cannot be read: {error}")),
        }
    }
    assert!(metadata.packages.len() > 10, "cargo resolved nothing");
    assert!(wrong.is_empty(), "allowed are {LICENCES:?}\n{}", wrong.join("\n"));
}

#[test]
fn the_core_has_one_version_of_everything() {
    let metadata = metadata();
    let resolve = metadata.resolve.as_ref().expect("cargo resolves");
    let core = metadata.workspace_packages().into_iter().find(|package| package.name.as_str() == "workbench");
    let mut open = vec![core.expect("there is a workbench").id.clone()];
    let mut seen = BTreeSet::new();
    let mut versions: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    while let Some(id) = open.pop() {
        if !seen.insert(id.clone()) {
            continue;
        }
        let found = package(&metadata, &id);
        versions.entry(found.name.to_string()).or_default().insert(found.version.to_string());
        let node = resolve.nodes.iter().find(|node| node.id == id).expect("every package is a node");
        let used = node.deps.iter().filter(|dep| dep.dep_kinds.iter().any(|kind| kind.kind == DependencyKind::Normal));
        open.extend(used.map(|dep| dep.pkg.clone()));
    }
    let twice: Vec<_> = versions.iter().filter(|(_, versions)| versions.len() > 1).collect();
    assert!(twice.is_empty(), "more than one version below `workbench`: {twice:?}");
}
