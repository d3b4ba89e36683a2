//! What stands in for options that are not given: `mirecast.toml` beside the shoot and in the user's
//! own place. An option on the command line comes first, then the shoot's file, then the user's.

mod file;
mod place;

use std::borrow::Cow;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use mirecast::colour::TransferCurve;
use mirecast::frames::Tolerance;
use mirecast::grade::Footage;
use mirecast::in_system_words;

use super::args::{Arguments, CardLab, Command, ReadingArguments};
use super::complaint::whole_path;
use super::inputs::is_input;

pub(crate) use place::user_path;

/// The name of a settings file, wherever it lies.
const FILE_NAME: &str = "mirecast.toml";

/// A settings file to edit: every setting, and none of them set.
pub(crate) const TEMPLATE: &str = include_str!("template.toml");

/// Why settings cannot be used.
#[derive(Debug, thiserror::Error)]
pub(crate) enum SettingsError {
    #[error(
        "{path}: the settings cannot be read: {why}. Mend or rename the file, or leave it out \
         with --no-settings",
        path = whole_path(.path),
        why = in_system_words(.source)
    )]
    Unreadable { path: PathBuf, source: std::io::Error },
    #[error("{place}: {message}")]
    Syntax { place: String, message: String },
    #[error(
        "{place}: there is no setting `{key}`; {}",
        .nearest.map_or_else(
            || format!("there are {}", file::KEYS.join(", ")),
            |nearest| format!("did you mean `{nearest}`?"),
        )
    )]
    Unknown { place: String, key: String, nearest: Option<&'static str> },
    #[error("{place}: {key}: {message}")]
    Value { place: String, key: &'static str, message: String },
    #[error(
        "the photos are of shoots with settings of their own, {first} and {second}; read each \
         shoot by itself, or leave settings out with --no-settings",
        first = whole_path(.first),
        second = whole_path(.second)
    )]
    TwoShoots { first: PathBuf, second: PathBuf },
    #[error(
        "the settings in {settings} are not for the photos in {folder}; read each by itself, or leave \
         settings out with --no-settings",
        settings = whole_path(.settings),
        folder = whole_path(.folder)
    )]
    OfSomeOnly { settings: PathBuf, folder: PathBuf },
}

/// Whose settings they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Whose {
    Shoot,
    User,
}

/// A settings file.
#[derive(Debug, PartialEq)]
pub(crate) struct Origin {
    pub(crate) whose: Whose,
    pub(crate) path: PathBuf,
}

/// A setting: its value, the text it was written as, and its file.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Set<T> {
    value: T,
    pub(crate) text: String,
    pub(crate) origin: Arc<Origin>,
}

/// Every setting that files may make, each named as the option that it stands in for.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Settings {
    pub(crate) presets: Option<Set<PathBuf>>,
    pub(crate) gels: Option<Set<PathBuf>>,
    pub(crate) tolerance: Option<Set<Tolerance>>,
    pub(crate) encoding: Option<Set<TransferCurve>>,
    pub(crate) card_lab: Option<Set<CardLab>>,
    pub(crate) footage: Option<Set<Footage>>,
}

impl Settings {
    /// These, and where they say nothing, those.
    fn or(self, those: Self) -> Self {
        Self {
            presets: self.presets.or(those.presets),
            gels: self.gels.or(those.gels),
            tolerance: self.tolerance.or(those.tolerance),
            encoding: self.encoding.or(those.encoding),
            card_lab: self.card_lab.or(those.card_lab),
            footage: self.footage.or(those.footage),
        }
    }

    /// What holds for photos and folders as they are named on the command line.
    ///
    /// # Errors
    /// A file that cannot be read, a slip in one, or photos of two shoots, or of one with settings and of none.
    pub(crate) fn of(given: &[PathBuf]) -> Result<Self, SettingsError> {
        let user = place::of_the_user()?;
        let is_the_users = |path: &PathBuf| {
            user.as_ref().is_some_and(|user| user.canonicalize().ok() == path.canonicalize().ok())
        };
        let shoot = place::of_the_shoot(given)?.filter(|path| !is_the_users(path));
        let read = |path: Option<PathBuf>, whose| match path {
            Some(path) => {
                is_input(&path);
                file::read(Origin { whose, path })
            }
            None => Ok(Self::default()),
        };
        Ok(read(shoot, Whose::Shoot)?.or(read(user, Whose::User)?))
    }
}

/// Puts settings in the place of options that were not given, and says which of them count. A line
/// for each file, so that nobody wonders where a figure comes from.
pub(crate) fn settle(arguments: &mut Arguments) -> Result<Vec<String>, SettingsError> {
    if arguments.no_settings {
        return Ok(Vec::new());
    }
    let Some(photos) = photos(&arguments.command) else { return Ok(Vec::new()) };
    let settings = Settings::of(&photos)?;
    let mut taken = Taken::default();
    fill(&mut arguments.command, &settings, &mut taken);
    Ok(taken.lines())
}

/// What a command reads, to find the shoot by; `None` of a command that no setting is for.
fn photos(command: &Command) -> Option<Cow<'_, [PathBuf]>> {
    match command {
        Command::Card(card) => Some(card.photos.as_slice().into()),
        Command::Frames(frames) => Some(place::walked(&frames.paths).into()),
        Command::Setups(setups) => Some(setups.setups.as_slice().into()),
        Command::Dial(dial) => Some(dial.photos.as_slice().into()),
        Command::Groups(_) | Command::Gels(_) | Command::Presets(_) => Some(Cow::default()),
        #[cfg(feature = "desk")]
        Command::Desk(_) => Some(Cow::default()),
        Command::Settings(_) | Command::Completions(_) | Command::Manual(_) => None,
    }
}

fn fill(command: &mut Command, settings: &Settings, taken: &mut Taken) {
    let Settings { presets, gels, tolerance, encoding, card_lab, footage } = settings;
    let mut reading = |reading: &mut ReadingArguments| {
        taken.take("presets", &mut reading.presets, presets);
        taken.take("encoding", &mut reading.encoding, encoding);
        taken.take("card-lab", &mut reading.card_lab, card_lab);
    };
    match command {
        Command::Card(card) => {
            reading(&mut card.reading);
            if card.targets.corrections.is_some() {
                taken.take("footage", &mut card.grade.footage, footage);
            }
        }
        Command::Frames(frames) => {
            taken.take("presets", &mut frames.presets, presets);
            taken.take("tolerance", &mut frames.tolerance, tolerance);
            if frames.targets.corrections.is_some() || frames.targets.proofs.is_some() {
                taken.take("footage", &mut frames.grade.footage, footage);
            }
        }
        Command::Groups(groups) if groups.targets.corrections.is_some() => {
            taken.take("footage", &mut groups.grade.footage, footage);
        }
        Command::Setups(setups) => {
            reading(&mut setups.together.reading);
            taken.take("gels", &mut setups.gels, gels);
        }
        Command::Dial(dial) => reading(&mut dial.together.reading),
        Command::Gels(table) if table.write.is_none() => {
            taken.take("gels", &mut table.gels, gels);
        }
        Command::Presets(table) if table.write.is_none() => {
            taken.take("presets", &mut table.presets, presets);
        }
        #[cfg(feature = "desk")]
        Command::Desk(desk) => {
            taken.take("presets", &mut desk.presets, presets);
            taken.take("gels", &mut desk.gels, gels);
            taken.take("tolerance", &mut desk.tolerance, tolerance);
            taken.take("encoding", &mut desk.encoding, encoding);
            taken.take("card-lab", &mut desk.card_lab, card_lab);
        }
        _ => {}
    }
}

/// The settings that took an option's place.
#[derive(Debug, Default)]
struct Taken(Vec<(Arc<Origin>, String)>);

impl Taken {
    fn take<T: Clone>(
        &mut self,
        key: &'static str,
        option: &mut Option<T>,
        setting: &Option<Set<T>>,
    ) {
        if let (None, Some(setting)) = (&option, setting) {
            *option = Some(setting.value.clone());
            let said = format!("{key} {}", mirecast::report::plain(&setting.text));
            self.0.push((setting.origin.clone(), said));
        }
    }

    fn lines(self) -> Vec<String> {
        let mut lines: Vec<(Arc<Origin>, String)> = Vec::new();
        for (origin, said) in self.0 {
            match lines.iter_mut().find(|(known, _)| *known == origin) {
                Some((_, line)) => *line += &format!("; {said}"),
                None => {
                    let line = format!("settings of {}: {said}", whole_path(&origin.path));
                    lines.push((origin, line));
                }
            }
        }
        lines.into_iter().map(|(_, line)| line).collect()
    }
}

/// A path as it is best shown: from the current folder, where it lies in it.
fn from_here(path: &Path) -> PathBuf {
    let here = std::env::current_dir().and_then(|here| here.canonicalize());
    let within = here.ok().and_then(|here| path.strip_prefix(here).ok().map(Path::to_path_buf));
    within.unwrap_or_else(|| path.to_path_buf())
}
