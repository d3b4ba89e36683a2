//! What all pages share: the shell with its style, its policy and its settings.

use std::borrow::Cow;
use std::sync::LazyLock;

use askama::Template;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};

use crate::report::plain;

/// The style sheet of all pages and of their parts.
pub const STYLE: &str = include_str!("style.css");

/// Sorting and filtering of frames; a page is whole without it.
pub const SCRIPT: &str = include_str!("script.js");

/// What made a page.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct About {
    /// The command, as in `mirecast card`.
    pub command: String,
    /// The settings that it ran with, in the order in which they are told.
    pub settings: Vec<Setting>,
}

/// One setting of a run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Setting {
    /// What it is.
    pub name: String,
    /// What it was.
    pub value: String,
}

impl About {
    /// With one more setting.
    #[must_use]
    pub fn with(mut self, name: &str, value: impl Into<String>) -> Self {
        self.settings.push(Setting { name: name.to_owned(), value: value.into() });
        self
    }
}

#[derive(Template)]
#[template(path = "page.html")]
struct Page<'a> {
    title: &'a str,
    summary: &'a str,
    command: Cow<'a, str>,
    version: &'static str,
    settings: Vec<(&'a str, Cow<'a, str>)>,
    policy: &'static str,
    style: &'static str,
    script: Option<&'static str>,
    body: &'a str,
}

/// A whole page round a body that is escaped already.
pub(super) fn page(
    title: &str,
    summary: &str,
    about: &About,
    body: &str,
    scripted: bool,
) -> String {
    let settings = about.settings.iter();
    rendered(&Page {
        title,
        summary,
        command: plain(&about.command),
        version: env!("CARGO_PKG_VERSION"),
        settings: settings.map(|s| (s.name.as_str(), plain(&s.value))).collect(),
        policy: &POLICY,
        style: STYLE,
        script: scripted.then_some(SCRIPT),
        body,
    })
}

/// A template as text. Templates fail only where a value in them does, and texts and numbers do
/// not.
pub(super) fn rendered(template: &impl Template) -> String {
    template.render().unwrap_or_default()
}

/// Nothing but the pictures in the page, its own style and its own script.
static POLICY: LazyLock<String> = LazyLock::new(|| {
    let hash = |text: &str| STANDARD.encode(Sha256::digest(text.as_bytes()));
    format!(
        "default-src 'none'; img-src data:; style-src 'sha256-{}'; script-src 'sha256-{}'; \
         base-uri 'none'; form-action 'none'",
        hash(STYLE),
        hash(SCRIPT)
    )
});
