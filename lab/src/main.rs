//! The bench: makes the sample pictures.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use lab::scene::Quality;
use lab::{calibrate, calibrate_raw, casts, dial, samples, screenshots, speed};

#[derive(Parser)]
#[command(about = "Our own bench")]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Renders the sample pictures, their table and their truth into a folder; the same bytes each time.
    Samples {
        /// The folder, made if it is not there.
        folder: PathBuf,
        /// Only the pictures whose file names contain this; the table and the truth are left as they are.
        #[arg(long, default_value = "")]
        only: String,
        /// A quick look: a third of the size and half the rays.
        #[arg(long)]
        preview: bool,
    },
    /// Calibrates the intervals of card readings by simulation and prints what they must be.
    Calibrate {
        /// How many cards to render and read.
        #[arg(long, default_value_t = 3_000)]
        cards: u64,
        /// Write the figures into the library's source.
        #[arg(long)]
        write: bool,
    },
    /// Renders brackets of balance settings, has them read, and prints how well that went.
    Dial {
        /// How many brackets of five photographs to render and read.
        #[arg(long, default_value_t = 300)]
        brackets: u64,
    },
    /// Calibrates the intervals of raw cards by simulation and prints what they must be.
    CalibrateRaw {
        /// How many cameras to make up.
        #[arg(long, default_value_t = 1_000)]
        cameras: u64,
        /// Write the figures into the library's source.
        #[arg(long)]
        write: bool,
    },
    /// Takes the screenshots that the README shows, of pages that the program makes of the samples.
    Screenshots {
        /// The folder, made if it is not there.
        folder: PathBuf,
        /// Every page whole instead: on a phone, on a laptop and as printed, light and dark.
        #[arg(long)]
        every: bool,
    },
    /// Trains the cast estimator and prints how it does on scenes left out.
    TrainCasts {
        /// Folders of frames, each with its truth.json.
        #[arg(required = true)]
        folders: Vec<PathBuf>,
        /// Write the weights into the library's source.
        #[arg(long)]
        write: bool,
    },
    /// Corrects frames whose cast is known, and prints how much of it is left.
    Grade {
        /// A folder of frames with its truth.json.
        folder: PathBuf,
        /// Further folders to train on, for the figure with scenes left out.
        #[arg(long)]
        with: Vec<PathBuf>,
    },
    /// Compares the cast estimator with the classical ones.
    CompareCasts {
        /// A folder of frames with its truth.json.
        folder: PathBuf,
        /// Further folders to train on, for the figure with scenes left out.
        #[arg(long)]
        with: Vec<PathBuf>,
    },
    /// Times a whole run of `mirecast frames` beside other ways to read the same pictures, which it renders.
    Speed {
        /// The program to time; the one built beside this one if not given.
        #[arg(long)]
        program: Option<PathBuf>,
        /// How many pictures of 12 megapixels a run has.
        #[arg(long, default_value_t = 24)]
        pictures: usize,
        /// How often each is run, all in turn; medians are printed.
        #[arg(long, default_value_t = 5)]
        repeats: usize,
        /// JPEG quality of the pictures.
        #[arg(long, default_value_t = 90)]
        quality: u8,
    },
}

fn main() -> ExitCode {
    let Arguments { command } = Arguments::parse();
    match run(command) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            say(&format!("lab: {error}"));
            let mut cause = error.source();
            while let Some(inner) = cause {
                say(&format!("  because {inner}"));
                cause = inner.source();
            }
            ExitCode::FAILURE
        }
    }
}

fn run(command: Command) -> Result<(), Box<dyn std::error::Error>> {
    match command {
        Command::Samples { folder, only, preview } => {
            let full = samples::FINISHED;
            let quality = if preview {
                Quality { width: full.width / 3, height: full.height / 3, samples: 4, ..full }
            } else {
                full
            };
            samples::write(&folder, &only, quality, |truth, file| {
                say(&format!("{file}: {:.0} K, Duv {:+.4}", truth.cct, truth.duv));
            })?;
        }
        Command::Calibrate { cards, write } => calibrated(cards, write)?,
        Command::Dial { brackets } => {
            let brackets = dial::brackets(brackets)?;
            for (name, spiky) in [("all", None), ("smooth", Some(false)), ("spiky", Some(true))] {
                say(&format!("{name}: {}", dial::score(&brackets, spiky, true).summary()));
            }
            say(&format!("not enclosed: {}", dial::score(&brackets, None, false).summary()));
        }
        Command::CalibrateRaw { cameras, write } => {
            let trials = calibrate_raw::trials(cameras)?;
            say(&format!("{} lights were read by {cameras} cameras", trials.len()));
            keep(
                "calibration_raw.rs",
                &calibrate_raw::source(&calibrate_raw::fit(&trials)),
                write,
            )?;
        }
        Command::Screenshots { folder, every } => {
            for path in screenshots::write(&folder, every)? {
                say(&path.display().to_string());
            }
        }
        Command::TrainCasts { folders, write } => trained(&folders, write)?,
        Command::Grade { folder, with } => {
            say(&casts::graded(&casts::read(&folder)?, &all_of(&with)?)?);
        }
        Command::CompareCasts { folder, with } => {
            say(&casts::table(&casts::read(&folder)?, &all_of(&with)?)?);
        }
        Command::Speed { program, pictures, repeats, quality } => {
            let beside = std::env::current_exe()?.with_file_name("mirecast");
            let program = program.unwrap_or(beside);
            for kind in [speed::Kind::Baseline, speed::Kind::Progressive] {
                say(&speed::table(&program, kind, pictures, repeats, quality)?);
            }
        }
    }
    Ok(())
}

fn all_of(folders: &[PathBuf]) -> Result<Vec<casts::Example>, lab::LabError> {
    let mut examples = Vec::new();
    for folder in folders {
        examples.extend(casts::read(folder)?);
    }
    Ok(examples)
}

fn calibrated(cards: u64, write: bool) -> Result<(), Box<dyn std::error::Error>> {
    let trials = calibrate::trials(cards)?;
    say(&format!("{} of {cards} cards were read", trials.len()));
    keep("calibration.rs", &calibrate::source(&calibrate::fit(&trials)), write)
}

/// Shows a table of half widths and puts it into the library's source if it is to be written.
fn keep(file: &str, source: &str, write: bool) -> Result<(), Box<dyn std::error::Error>> {
    say(source);
    if write {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../src/card");
        std::fs::write(std::path::Path::new(folder).join(file), source)?;
        say("written; run `cargo fmt`");
    }
    Ok(())
}

fn trained(folders: &[PathBuf], write: bool) -> Result<(), Box<dyn std::error::Error>> {
    let examples = all_of(folders)?;
    let trained = casts::train(&examples)?;
    say(&format!("scenes left out: {}", trained.left_out));
    say(&format!("temperature {:.2}", trained.weights.temperature));
    if write {
        let file = concat!(env!("CARGO_MANIFEST_DIR"), "/../src/frames/cast/weights.rs");
        std::fs::write(file, casts::source(&trained.weights))?;
        say("written; run `cargo fmt`");
    }
    Ok(())
}

#[expect(clippy::print_stderr, reason = "the one place where the bench speaks to its user")]
fn say(line: &str) {
    eprintln!("{line}");
}
