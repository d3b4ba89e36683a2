//! `mirecast settings`: what holds, and where from.

use std::io::{self, Write};
use std::path::Path;

use mirecast::frames::Tolerance;
use mirecast::report::{plain, plain_path};

use super::args::SettingsArguments;
use super::exit::{Outcome, RunError};
use super::output::stdout;
use super::settings_files::{Set, Settings, TEMPLATE, Whose, user_path};
use super::write_file::{make_folder, write_to_edit};

/// Shows them, or writes a file to edit.
pub(crate) fn run(arguments: &SettingsArguments, left_out: bool) -> Result<Outcome, RunError> {
    if let Some(path) = &arguments.write {
        // Nobody has made that folder, which this command names, before the first settings.
        if let (true, Some(folder)) = (is_the_users(path), path.parent()) {
            make_folder(folder)?;
        }
        let next = "Take the # away before what you want to set.";
        write_to_edit(path, TEMPLATE, next, arguments.existing)?;
        return Ok(Outcome::AllRead);
    }
    let settings = match left_out {
        true => Settings::default(),
        false => Settings::of(arguments.path.as_slice())?,
    };
    write_settings(&mut stdout(), &settings, left_out)?;
    Ok(Outcome::AllRead)
}

/// Whether a path is the user's own place for settings.
fn is_the_users(path: &Path) -> bool {
    let whole = |path: &Path| std::path::absolute(path).ok();
    user_path().is_some_and(|user| whole(&user) == whole(path))
}

fn write_settings(out: &mut impl Write, settings: &Settings, left_out: bool) -> io::Result<()> {
    let Settings { presets, gels, tolerance, encoding, card_lab, footage } = settings;
    let Tolerance { mired, duv } = Tolerance::default();
    writeln!(out, "Setting    Value")?;
    row(out, "presets", presets, "the built-in table")?;
    row(out, "gels", gels, "the built-in table")?;
    row(out, "tolerance", tolerance, &format!("{mired},{duv}"))?;
    row(out, "encoding", encoding, "as each file says, under a curve not known")?;
    row(out, "card-lab", card_lab, "the card is taken for neutral")?;
    row(out, "footage", footage, "srgb")?;
    if left_out {
        return writeln!(out, "\nSettings files are left out.");
    }
    if let Some(user) = user_path() {
        writeln!(out, "\nYour own settings file {} {}", is_or_would_be(&user), plain_path(&user))?;
    }
    writeln!(
        out,
        "An option on the command line comes first, then the shoot's file, then\n\
         yours. mirecast settings --write FILE makes a file to edit; --no-settings\n\
         leaves settings out."
    )
}

fn is_or_would_be(user: &Path) -> &'static str {
    if user.exists() { "is" } else { "would be" }
}

fn row<T>(out: &mut impl Write, key: &str, set: &Option<Set<T>>, built_in: &str) -> io::Result<()> {
    let Some(set) = set else { return writeln!(out, "{key:<9}  {built_in}") };
    let whose = match set.origin.whose {
        Whose::Shoot => "the shoot's file",
        Whose::User => "your own file",
    };
    writeln!(out, "{key:<9}  {}", plain(&set.text))?;
    writeln!(out, "{:<9}    from {whose}, {}", "", plain_path(&set.origin.path))
}
