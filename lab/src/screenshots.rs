//! Screenshots of the program's pages: those that the README shows, and all of them to be looked
//! at.

use std::path::{Path, PathBuf};
use std::process::Command;

use browser::{Browser, View};
use image::codecs::jpeg::JpegEncoder;

/// Why there are no screenshots.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ScreenshotError {
    /// The browser.
    #[error(transparent)]
    Browser(#[from] browser::BrowserError),
    /// A file.
    #[error("{0}: {1}")]
    File(PathBuf, std::io::Error),
    /// The program made no page.
    #[error("`mirecast {0}` made no page: {1}")]
    Program(String, String),
    /// A screenshot that is no picture.
    #[error("the browser's picture: {0}")]
    Picture(#[from] image::ImageError),
}

/// A page of the program, and what makes it.
struct Shown {
    name: &'static str,
    /// The command without `--report`; a `*` stands for every sample of that kind.
    command: &'static str,
    /// How much of it the README shows, in CSS pixels; 0 leaves it out.
    readme_height: u32,
    readme_dark: bool,
}

const PAGES: [Shown; 5] = [
    Shown {
        name: "card",
        command: "card card-marked-and-thumb.jpg",
        readme_height: 1380,
        readme_dark: false,
    },
    Shown {
        name: "frames",
        command: "frames frame-*.jpg",
        readme_height: 1360,
        readme_dark: false,
    },
    Shown {
        name: "setups",
        command: "setups window=card-window-fills-frame.jpg bench=card-lamps-fills-frame.jpg",
        readme_height: 1180,
        readme_dark: true,
    },
    Shown {
        name: "dial",
        command: "dial dial-1.jpg@2800K dial-2.jpg@3000K dial-3.jpg@3300K dial-4.jpg@3600K",
        readme_height: 0,
        readme_dark: false,
    },
    Shown { name: "cards", command: "card card-*", readme_height: 0, readme_dark: false },
];

/// Makes the pages from the sample frames with the program itself, and writes into `folder` the
/// screenshots that the README shows; with `every` also each page whole, on a phone, on a laptop
/// and as printed, light and dark. Returns what was written.
///
/// # Errors
/// [`ScreenshotError`], also where there is no browser.
pub fn write(folder: &Path, every: bool) -> Result<Vec<PathBuf>, ScreenshotError> {
    let cannot = |path: &Path| {
        let path = path.to_path_buf();
        move |error| ScreenshotError::File(path, error)
    };
    std::fs::create_dir_all(folder).map_err(cannot(folder))?;
    let pages = tempfile::tempdir().map_err(cannot(folder))?;
    let mut browser = Browser::start()?;
    let mut written = Vec::new();
    for shown in &PAGES {
        let page = pages.path().join(shown.name).with_extension("html");
        made(shown, &page)?;
        let address = format!("file://{}", page.display());
        let mut shoot = |name: String, view: View, height: Option<u32>| {
            let png = browser.open(&address, view)?.screenshot(height)?;
            let path = folder.join(name);
            std::fs::write(&path, as_jpeg(&png)?).map_err(cannot(&path))?;
            written.push(path);
            Ok::<(), ScreenshotError>(())
        };
        let laptop = View { width: 1120, ..View::default() };
        if every {
            for dark in [false, true] {
                let theme = if dark { "dark" } else { "light" };
                let phone = View { width: 380, height: 780, dark, ..View::default() };
                // A4 less the margins.
                let print = View { width: 688, print: true, dark, ..View::default() };
                let wide = View { width: 1280, dark, ..View::default() };
                for (size, view) in [("phone", phone), ("laptop", wide), ("print", print)] {
                    shoot(format!("{}-{size}-{theme}.jpg", shown.name), view, None)?;
                }
            }
        } else if shown.readme_height > 0 {
            let view = View { dark: shown.readme_dark, ..laptop };
            shoot(format!("report-{}.jpg", shown.name), view, Some(shown.readme_height))?;
        }
    }
    Ok(written)
}

/// Has the program make a page. Its exit code says no more than that a sample is a bad one.
fn made(shown: &Shown, page: &Path) -> Result<(), ScreenshotError> {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../sample-frames");
    let manifest = Path::new(env!("CARGO_MANIFEST_DIR")).join("../Cargo.toml");
    let failed = |why: String| ScreenshotError::Program(shown.command.to_owned(), why);
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new(cargo)
        .args(["run", "--quiet", "--package", "mirecast", "--manifest-path"])
        .arg(manifest)
        .arg("--")
        .args(shown.command.split(' ').flat_map(|word| expanded(&samples, word)))
        .arg("--no-settings")
        .arg("--report")
        .arg(page)
        .current_dir(&samples)
        .output()
        .map_err(|error| failed(error.to_string()))?;
    if page.is_file() {
        Ok(())
    } else {
        Err(failed(String::from_utf8_lossy(&output.stderr).into_owned()))
    }
}

/// The samples that a pattern stands for, or the word itself.
fn expanded(samples: &Path, word: &str) -> Vec<String> {
    let Some((start, end)) = word.split_once('*') else { return vec![word.to_owned()] };
    let entries = std::fs::read_dir(samples).into_iter().flatten().flatten();
    let mut names: Vec<_> = entries
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .filter(|name| name.starts_with(start) && name.ends_with(end))
        .collect();
    names.sort();
    names
}

fn as_jpeg(png: &[u8]) -> Result<Vec<u8>, image::ImageError> {
    let picture = image::load_from_memory_with_format(png, image::ImageFormat::Png)?.into_rgb8();
    let mut jpeg = Vec::new();
    picture.write_with_encoder(JpegEncoder::new_with_quality(&mut jpeg, 84))?;
    Ok(jpeg)
}
