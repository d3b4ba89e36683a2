//! Feeds broken and strange files: a short while in `.ci/run`, long by hand.

use std::error::Error;
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::Mutex;
use std::time::Duration;

use clap::Parser;
use fuzz_lab::{Budget, Finding, Setting, Tally, supervise, target, target_names, work};

/// Feeds mirecast with broken and strange files, and watches what happens.
#[derive(Parser, Debug)]
struct Arguments {
    /// How long in all, in seconds; the targets share it
    #[arg(long, default_value_t = 60)]
    seconds: u64,

    /// Where chance starts: the same seed tries the same inputs
    #[arg(long, default_value_t = 1)]
    seed: u64,

    /// Which targets; without it, all
    #[arg(long = "target", value_name = "NAME")]
    targets: Vec<String>,

    /// Further folders of sound files to begin with
    #[arg(long = "seeds", value_name = "FOLDER")]
    folders: Vec<PathBuf>,

    /// The program to run from end to end; without it, the one beside this one
    #[arg(long)]
    program: Option<PathBuf>,

    /// Where to put inputs that something was found with
    #[arg(long, value_name = "FOLDER")]
    keep: Option<PathBuf>,

    /// How many targets at once
    #[arg(long, default_value_t = 2)]
    jobs: usize,

    /// The number of the first input; with --only, of the only one
    #[arg(long, default_value_t = 0)]
    from: u64,

    /// Write the input of the number --from to standard output instead
    #[arg(long)]
    only: bool,

    /// Run inputs of one target, and say how each ends: what a child does
    #[arg(long, value_name = "NAME", hide = true)]
    worker: Option<String>,
}

/// An input may take so long.
const HANG: Duration = Duration::from_secs(10);
/// What a child may ask of the system: pictures of the greatest size under the limits.
const ADDRESS_KIB: u64 = 6 << 20;

fn main() -> ExitCode {
    match run(&Arguments::parse()) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            say(&format!("fuzz-lab: {error}"));
            ExitCode::from(2)
        }
    }
}

/// Whether nothing was found.
fn run(arguments: &Arguments) -> Result<bool, Box<dyn Error>> {
    let own = std::env::current_exe()?;
    let beside = own.with_file_name(format!("mirecast{}", std::env::consts::EXE_SUFFIX));
    let program = arguments.program.clone().unwrap_or(beside);
    let setting = Setting { folders: arguments.folders.clone(), program: program.clone() };
    let named = |name: &str| target(name, &setting).ok_or(format!("there is no target `{name}`"));
    if let Some(name) = &arguments.worker {
        // The parent has gone when this fails.
        let _ = work(name, named(name)?.as_ref(), arguments.seed, arguments.from);
        return Ok(true);
    }
    let chosen: Vec<&'static str> = target_names()
        .filter(|name| arguments.targets.is_empty() || arguments.targets.iter().any(|t| t == name))
        .collect();
    if let Some(unknown) = arguments.targets.iter().find(|t| !chosen.contains(&t.as_str())) {
        let known = target_names().collect::<Vec<_>>().join(", ");
        return Err(format!("there is no target `{unknown}`; there are {known}").into());
    }
    if arguments.only {
        let [name] = chosen[..] else {
            return Err(
                "--only is of one input: name its one --target, and its number by --from".into()
            );
        };
        let input = fuzz_lab::input(name, named(name)?.as_ref(), arguments.seed, arguments.from);
        std::io::Write::write_all(&mut std::io::stdout(), &input)?;
        return Ok(true);
    }
    let jobs = arguments.jobs.clamp(1, chosen.len().max(1));
    let share = arguments.seconds * jobs as u64 / chosen.len().max(1) as u64;
    let mut words: Vec<String> = Vec::new();
    for folder in &arguments.folders {
        words.extend(["--seeds".to_owned(), folder.to_string_lossy().into_owned()]);
    }
    words.extend(["--program".to_owned(), program.to_string_lossy().into_owned()]);
    let budget = Budget {
        time: Duration::from_secs(share.max(1)),
        hang: HANG,
        address_kib: ADDRESS_KIB,
        child: (own, words),
    };
    let waiting = Mutex::new(chosen);
    let found = Mutex::new(0_usize);
    std::thread::scope(|threads| {
        for _ in 0..jobs {
            threads.spawn(|| {
                while let Some(name) = waiting.lock().ok().and_then(|mut names| names.pop()) {
                    let tally =
                        supervise(name, arguments.seed, arguments.from, &budget, |finding| {
                            report(finding, arguments, &setting);
                        });
                    let new = match tally {
                        Ok(tally) => {
                            sum_up(name, &tally);
                            tally.findings.len() + usize::from(tally.inputs == 0)
                        }
                        Err(error) => {
                            say(&format!("{name}: {error}"));
                            1
                        }
                    };
                    if let Ok(mut found) = found.lock() {
                        *found += new;
                    }
                }
            });
        }
    });
    Ok(found.into_inner().is_ok_and(|found| found == 0))
}

fn report(finding: &Finding, arguments: &Arguments, setting: &Setting) {
    let Finding { target: name, index, kind, what } = finding;
    say(&format!("{name} {index}: {kind:?}: {what}"));
    if let (Some(folder), Some(target)) = (&arguments.keep, target(name, setting)) {
        let input = fuzz_lab::input(name, target.as_ref(), arguments.seed, *index);
        let path = folder.join(format!("{name}-{}-{index}", arguments.seed));
        if let Err(error) = std::fs::write(&path, input) {
            say(&format!("{}: {error}", path.display()));
        }
    }
}

fn sum_up(name: &str, tally: &Tally) {
    let ends: Vec<String> = tally.ends.iter().map(|(end, n)| format!("{end} {n}")).collect();
    say(&format!(
        "{name}: {} inputs, {} findings, slowest {:.2} s (input {}), peak {} MiB\n    {}",
        tally.inputs,
        tally.findings.len(),
        tally.slowest.0.as_secs_f64(),
        tally.slowest.1,
        tally.peak_kib >> 10,
        ends.join(", "),
    ));
}

#[expect(clippy::print_stderr, reason = "the one place where the bench speaks to its user")]
fn say(line: &str) {
    eprintln!("{line}");
}
