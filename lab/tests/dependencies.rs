//! What the packages rest on: licences that let everybody use them, crates from the registry alone, and
//! no `unsafe` of our own.
//!
//! Known advisories are not looked up: their database does not come with the package registry. Versions
//! that were withdrawn are named by `lab/yanked`.

use std::path::Path;
use std::process::Command;

use serde_json::Value;

/// Licences that ask for no more than to be named.
const ALLOWED: [&str; 12] = [
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// What asks for more, and is kept to on purpose: the README says so, and a build goes without it.
const EXCEPTED: [(&str, &str); 1] = [("rawler", "LGPL-2.1")];

/// Whether one of the choices (SPDX, `OR`) is made of such licences only (`AND`). Old manifests write a
/// slash for `OR`.
fn is_allowed(expression: &str) -> bool {
    let choices = expression.replace('/', " OR ");
    choices.split(" OR ").any(|choice| {
        choice.split(" AND ").all(|term| ALLOWED.contains(&term.trim().trim_matches(['(', ')'])))
    })
}

#[test]
fn expressions_are_understood() {
    for good in ["MIT OR Apache-2.0", "MIT/Apache-2.0", "(MIT OR Apache-2.0) AND Unicode-3.0"] {
        assert!(is_allowed(good), "{good}");
    }
    for bad in ["LGPL-2.1", "GPL-3.0 AND MIT", "MIT AND MPL-2.0", ""] {
        assert!(!is_allowed(bad), "{bad}");
    }
}

fn root() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/.."))
}

fn packages() -> Vec<Value> {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked"])
        .current_dir(root())
        .output()
        .expect("cargo");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    metadata["packages"].as_array().expect("packages").clone()
}

#[test]
fn every_dependency_comes_from_the_registry_under_a_licence_that_is_allowed() {
    let packages = packages();
    assert!(packages.len() > 50, "{}", packages.len());
    let mut wrong = Vec::new();
    for package in packages.iter().filter(|package| !package["source"].is_null()) {
        let name = package["name"].as_str().unwrap_or_default();
        let licence = package["license"].as_str().unwrap_or_default();
        let source = package["source"].as_str().unwrap_or_default();
        let allowed = is_allowed(licence) || EXCEPTED.contains(&(name, licence));
        if !allowed || !source.starts_with("registry+") {
            wrong.push(format!("{name}: {licence:?} from {source}"));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn unsafe_is_forbidden_in_every_package_of_ours() {
    let workspace = std::fs::read_to_string(root().join("Cargo.toml")).expect("a manifest");
    assert!(workspace.contains("unsafe_code = \"forbid\""));
    let packages = packages();
    let own: Vec<_> = packages.iter().filter(|package| package["source"].is_null()).collect();
    assert!(own.len() >= 3, "{}", own.len());
    for package in own {
        let manifest = package["manifest_path"].as_str().expect("a path");
        let manifest = std::fs::read_to_string(manifest).expect("a manifest");
        assert!(manifest.contains("[lints]\nworkspace = true"), "{}", package["name"]);
    }
}
