//! Walks through docs/faults.md: every fault is made, and what the program says and how it ends is
//! what stands there.
#![cfg(unix)]

mod cli_common;
mod still_common;

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::os::unix::net::UnixListener;
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use cli_common::{Shoot, daylight_card, white_card};
use image::ImageFormat;
use still_common::{Extras, busy, encode, flat};

const TABLE: &str = include_str!("../docs/faults.md");

struct Row {
    fault: String,
    command: String,
    code: String,
    says: String,
    exit: i32,
}

/// Every row of every table in the document, cell by cell.
fn cells() -> Vec<Vec<String>> {
    const BAR: &str = "\u{0}";
    let bare = |cell: &str| {
        let quoted = cell.strip_prefix('`').and_then(|cell| cell.strip_suffix('`'));
        quoted.unwrap_or(cell).replace(BAR, "|")
    };
    let rows = TABLE.lines().filter_map(|line| line.strip_prefix('|')).map(|line| {
        let line = line.replace("\\|", BAR);
        let line = line.trim_end().strip_suffix('|').unwrap_or_else(|| panic!("no end: {line}"));
        line.split('|').map(str::trim).map(bare).collect::<Vec<String>>()
    });
    let is_heading = |cells: &Vec<String>| matches!(cells[0].as_str(), "fault" | "---");
    rows.filter(|cells| !is_heading(cells)).collect()
}

/// The rows with a command: all but those of being stopped, each of which has a test of its own.
fn rows() -> Vec<Row> {
    let rows = cells().into_iter().filter(|cells| cells.len() != STOPPED[0].0.len());
    rows.map(|cells| {
        let [fault, command, code, says, exit] =
            <[String; 5]>::try_from(cells).unwrap_or_else(|cells| panic!("no row: {cells:?}"));
        assert!(!command.is_empty() && !says.is_empty(), "{fault}: nothing to walk");
        let exit = exit.parse().unwrap_or_else(|_| panic!("{fault}: an exit code"));
        Row { exit, fault, command, code, says }
    })
    .collect()
}

/// A row without a command, word by word, and the test that walks it.
type Stopped = ([&'static str; 3], fn());

/// All of these.
const STOPPED: [Stopped; 5] = [
    (
        ["the reader of the results has gone, as with `| head`", "nothing", "0"],
        a_closed_pipe_ends_it_quietly,
    ),
    (
        [
            "Ctrl-C while reading",
            "nothing; what was printed is whole records",
            "by the signal (130 in a shell)",
        ],
        an_interrupt_ends_it_by_the_signal_and_leaves_whole_records,
    ),
    (
        [
            "Ctrl-C while a file is written",
            "nothing; the file is there whole or not at all, and nothing beside it",
            "by the signal, or 0",
        ],
        an_interrupt_leaves_no_half_file_and_nothing_beside,
    ),
    (
        [
            "Ctrl-C while many files are written",
            "nothing; each file is there whole or not at all, and nothing beside it",
            "by the signal, or 0",
        ],
        an_interrupt_among_many_files_leaves_each_whole_or_unwritten,
    ),
    (
        [
            "killed outright while a file is written over",
            "nothing; the file is the old one or the new one, and a hidden one may lie beside it",
            "by the signal, or 0",
        ],
        a_kill_leaves_the_old_file_or_the_new_one,
    ),
];

#[test]
fn every_row_without_a_command_has_a_test_of_its_own() {
    let rows = cells().into_iter().filter(|cells| cells.len() == STOPPED[0].0.len());
    let told: Vec<Vec<String>> = rows.collect();
    let walked: Vec<Vec<String>> =
        STOPPED.iter().map(|(row, _)| row.map(str::to_owned).to_vec()).collect();
    assert_eq!(told, walked);
}

/// A grey picture of so many pixels a side, as a PNG.
fn large_png(side: u32) -> Vec<u8> {
    let grey = image::GrayImage::from_pixel(side, side, image::Luma([150]));
    encode(&grey.into(), ImageFormat::Png, Extras::default())
}

/// A PNG whose header promises a size that is not there.
fn promising_png(side: u32) -> Vec<u8> {
    let mut bytes = encode(&flat(1, 1, [200; 3]), ImageFormat::Png, Extras::default());
    bytes[16..20].copy_from_slice(&side.to_be_bytes());
    bytes[20..24].copy_from_slice(&side.to_be_bytes());
    let mut sum = flate2::Crc::new();
    sum.update(&bytes[12..29]);
    bytes[29..33].copy_from_slice(&sum.sum().to_be_bytes());
    bytes
}

/// Everything that the tables name.
fn faults() -> Shoot {
    let good = daylight_card();
    let picture = cli_common::card([0.55; 3]);
    let mut damaged = encode(&busy(640, 480), ImageFormat::Jpeg, Extras::default());
    let half = damaged.len() / 2;
    damaged[half..half + 4].copy_from_slice(&[0xFF, 0xDC, 0, 2]);
    let mut exif = good.clone();
    let block = exif.windows(6).position(|w| w == b"Exif\0\0").expect("Exif") + 6;
    // A directory that begins beyond the end.
    exif[block + 4..block + 8].fill(0x7F);
    let with_profile = |profile: Vec<u8>| encode(&picture, ImageFormat::Png, Extras::icc(profile));
    let sound = moxcms::ColorProfile::new_srgb().encode().expect("a profile");
    let mut packets = [0; 8 * 192];
    packets.iter_mut().skip(4).step_by(192).for_each(|byte| *byte = 0x47);
    let shoot = Shoot::new()
        .with("good.jpg", &good)
        .with("empty.jpg", b"")
        .with("zeros.jpg", &vec![0; 2 << 20])
        .with("cut.jpg", &good[..good.len() / 2])
        .with("damaged.jpg", &damaged)
        .with("text.jpg", b"Card at the window, second take\n")
        .with("film.jpg", b"\0\0\0\x14ftypqt  \0\0\0\0qt  ")
        .with("film.mts", &packets)
        .with("film.avi", b"RIFF\x00\x10\0\0AVI LIST")
        .with("film.mkv", b"\x1A\x45\xDF\xA3\x01\0\0\0")
        .with("a.avif", b"\0\0\0\x1Cftypavif\0\0\0\0avifmif1miaf")
        .with("picture.gif", b"GIF89a\x01\0\x01\0")
        .with("cut.jxl", &include_bytes!("data/still/jxl/lossy.jxl")[..100])
        .with("hdr.jxl", include_bytes!("data/still/jxl/pq.jxl"))
        .with("heif.jpg", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic")
        .with("cmyk.jpg", include_bytes!("data/still/cmyk.jpg"))
        .with("exif.jpg", &exif)
        .with("profile.png", &with_profile(b"this is no profile".to_vec()))
        .with("sound.png", &with_profile(sound))
        .with("white.jpg", &white_card())
        .with("steer\u{1b}[2J\u{202e}.jpg", &good)
        .with("huge.png", &promising_png(30_000))
        .with("bomb.png", &promising_png(14_000))
        .with("slow.png", &large_png(12_000))
        .with("good.tif", &encode(&picture, ImageFormat::Tiff, Extras::default()))
        .with("typo.toml", b"[daylight]\nkelvn = 5500\n")
        .with("cut.jsonl", br#"{"path":"a.jpg","verdi"#)
        .with("locked.jpg", &good);
    let latin = std::ffi::OsStr::from_bytes(b"latin\xe9.jpg");
    fs::write(shoot.folder().join(latin), &good).expect("a file system of bytes");
    for folder in
        ["folder", "mixed", "around", "around/again", "broken", "heics", "locked", "closed"]
    {
        fs::create_dir(shoot.path(folder)).expect("a folder");
    }
    for (name, content) in [
        ("mixed/a.jpg", good.as_slice()),
        ("mixed/b.MP4", b"a film"),
        ("mixed/c.HEIC", b"a picture"),
        ("heics/a.HEIC", b"a picture"),
        ("mixed/notes.txt", b"notes"),
        ("around/a.jpg", &good),
        ("around/._a.jpg", b"what another program keeps beside it"),
        ("around/.hidden.jpg", &good),
        ("around/Thumbs.db", b"what another program keeps of all"),
    ] {
        fs::write(shoot.path(name), content).expect("writes");
    }
    for (folder, settings) in [
        ("slip", b"tolerence = 20\n".as_slice()),
        ("wrong", b"card-lab = '0.9,0,0'\n"),
        ("lost", b"presets = 'gone.toml'\n"),
        ("other", &[0; 1 << 17]),
        ("two", b"tolerance = 20\n"),
        ("three", b"tolerance = 30\n"),
        ("stuck", b""),
    ] {
        fs::create_dir(shoot.path(folder)).expect("a folder");
        fs::write(shoot.path(folder).join("good.jpg"), &good).expect("writes");
        fs::write(shoot.path(folder).join("mirecast.toml"), settings).expect("writes");
    }
    fs::remove_file(shoot.path("stuck/mirecast.toml")).expect("was there");
    symlink(shoot.path("around"), shoot.path("around/again/once-more")).expect("a link");
    symlink("circle.jpg", shoot.path("circle.jpg")).expect("a link");
    symlink("gone.jpg", shoot.path("broken/b.jpg")).expect("a link");
    for pipe in ["pipe.jpg", "around/pipe.jpg", "stuck/mirecast.toml"] {
        let made = Command::new("mkfifo").arg(shoot.path(pipe)).status().expect("mkfifo");
        assert!(made.success());
    }
    drop(UnixListener::bind(shoot.path("socket.jpg")).expect("a socket"));
    for (name, mode) in LOCKED {
        permit(&shoot.path(name), mode);
    }
    shoot
}

/// What may not be read, written in, or looked into.
const LOCKED: [(&str, u32); 3] = [("locked.jpg", 0), ("locked", 0o555), ("closed", 0)];

fn permit(path: &Path, mode: u32) {
    fs::set_permissions(path, fs::Permissions::from_mode(mode)).expect("our own");
}

fn program() -> std::path::PathBuf {
    assert_cmd::cargo::cargo_bin("mirecast")
}

/// Runs a line in a shell that finds the program, with no more rights than anybody has: root may
/// read and write what is locked.
fn shell(folder: &Path, line: &str) -> Output {
    run(if is_root() { &["setpriv", "--bounding-set=-all", "sh"] } else { &["sh"] }, folder, line)
}

fn is_root() -> bool {
    Command::new("id").arg("-u").output().expect("id").stdout == b"0\n"
}

fn run(shell: &[&str], folder: &Path, line: &str) -> Output {
    let place = program().parent().expect("a folder").to_path_buf();
    let path = std::env::var_os("PATH").unwrap_or_default();
    let path = [place.into_os_string(), path].join(":".as_ref());
    let [shell, words @ ..] = shell else { panic!("no shell") };
    let mut command = Command::new(shell);
    command
        .args(words)
        .args(["-c", line])
        .current_dir(folder)
        .env("PATH", path)
        .env("XDG_CONFIG_HOME", folder.join(".config"))
        .stdin(Stdio::null());
    command.output().unwrap_or_else(|error| panic!("{shell}: {error}"))
}

/// Runs a row; what is not as it says.
fn walked(shoot: &Shoot, row: &Row) -> Vec<String> {
    let Row { fault, command, code, says, exit } = row;
    let start = Instant::now();
    let output = shell(shoot.folder(), command);
    let all = [output.stderr.as_slice(), &output.stdout].concat();
    let all = String::from_utf8(all).unwrap_or_else(|_| panic!("{fault}: not UTF-8"));
    // Text is broken into lines.
    let joined = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let steers = |c: char| c.is_control() && c != '\n' || c == '\u{202e}';
    let mut wrong = Vec::new();
    let mut expect = |holds: bool, what: &str, found: &str| {
        if !holds {
            wrong.push(format!("{fault}: {what}: {found}"));
        }
    };
    expect(output.status.code() == Some(*exit), "exit code", &format!("{} {all}", output.status));
    expect(joined(&all).contains(&joined(says)), "says", &all);
    let messages = String::from_utf8_lossy(&output.stderr).into_owned();
    let fits = |line: &str| line.chars().count() <= 80 || line.starts_with("error: ");
    expect(messages.lines().all(fits), "a width", &messages);
    expect(!all.contains("panicked"), "panic", &all);
    expect(!all.contains(steers), "control characters", &format!("{all:?}"));
    expect(start.elapsed() < Duration::from_secs(60), "time", &format!("{:?}", start.elapsed()));
    if !code.is_empty() {
        let records = shell(shoot.folder(), &format!("{command} --format json"));
        let records = String::from_utf8_lossy(&records.stdout).into_owned();
        expect(records.contains(&format!(r#""code":"{code}""#)), "code", &records);
    }
    wrong
}

#[test]
fn every_fault_ends_as_its_row_says() {
    let shoot = faults();
    let rows = rows();
    assert!(rows.len() > 70, "only {} rows", rows.len());
    let wrong: Vec<String> = rows.iter().flat_map(|row| walked(&shoot, row)).collect();
    LOCKED.iter().for_each(|(name, _)| permit(&shoot.path(name), 0o755));
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(fs::read(shoot.path("good.jpg")).expect("is there"), daylight_card());
    let left = fs::read_dir(shoot.folder()).expect("a folder").filter(|entry| {
        entry.as_ref().is_ok_and(|e| e.file_name().as_bytes().starts_with(b".mirecast"))
    });
    assert_eq!(left.count(), 0, "something is left beside");
}

#[test]
fn a_closed_pipe_ends_it_quietly() {
    let shoot = Shoot::new().with("good.jpg", &daylight_card());
    let many = "good.jpg ".repeat(400);
    let line = format!("{{ mirecast card {many}; echo \"exit $?\" >&2; }} | head -n 1");
    let output = shell(shoot.folder(), &line);
    assert_eq!(String::from_utf8_lossy(&output.stderr), "exit 0\n");
}

fn interrupt(child: &Child) {
    let sent = Command::new("kill").args(["-INT", &child.id().to_string()]).status();
    assert!(sent.expect("kill").success());
}

/// What hidden files there are in a folder.
fn beside(folder: &Path) -> Vec<std::ffi::OsString> {
    let names = fs::read_dir(folder).expect("a folder").map(|e| e.expect("e").file_name());
    names.filter(|name| name.as_bytes().starts_with(b".mirecast")).collect()
}

#[test]
fn an_interrupt_ends_it_by_the_signal_and_leaves_whole_records() {
    let shoot = Shoot::new().with("good.jpg", &daylight_card());
    let mut child = Command::new(program())
        .args(["card", "--format", "json", "--files-from", "-"])
        .current_dir(shoot.folder())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("starts");
    // The list is not at its end: the program waits for more.
    let mut list = child.stdin.take().expect("a pipe");
    list.write_all(b"good.jpg\ngood.jpg\ngood.jpg\n").expect("writes");
    let mut out = BufReader::new(child.stdout.take().expect("a pipe"));
    let mut first = String::new();
    out.read_line(&mut first).expect("a record");
    interrupt(&child);
    let start = Instant::now();
    let rest: Vec<String> = out.lines().map(|line| line.expect("UTF-8")).collect();
    let status = child.wait().expect("ends");
    assert!(start.elapsed() < Duration::from_secs(30));
    assert_eq!((status.code(), status.signal()), (None, Some(2)), "{status}");
    for line in rest.iter().chain([&first]) {
        serde_json::from_str::<serde_json::Value>(line).expect("a whole record");
    }
}

#[test]
fn an_interrupt_leaves_no_half_file_and_nothing_beside() {
    let shoot = Shoot::new();
    let mut ends = [0; 2];
    for n in 0..40_u64 {
        let name = format!("{n}.toml");
        let mut child = Command::new(program())
            .args(["presets", "--write", &name])
            .current_dir(shoot.folder())
            .stdout(Stdio::null())
            .spawn()
            .expect("starts");
        std::thread::sleep(Duration::from_micros(150 * n));
        interrupt(&child);
        let status = child.wait().expect("ends");
        assert!(status.success() || status.signal() == Some(2), "{status}");
        ends[usize::from(status.success())] += 1;
        let written = fs::read_to_string(shoot.path(&name));
        let whole = mirecast::balance::PresetTable::built_in_text();
        assert!(written.as_deref().map_or(true, |text| text == whole), "{n}");
    }
    assert!(beside(shoot.folder()).is_empty(), "{:?} after {ends:?}", beside(shoot.folder()));
    assert!(ends[0] > 0, "none was interrupted: {ends:?}");
}

#[test]
fn an_interrupt_among_many_files_leaves_each_whole_or_unwritten() {
    let frame = include_bytes!("../sample-frames/frame-bench-lamps-orange.jpg");
    let names = ["a.jpg", "b.jpg", "c.jpg"];
    let shoot = names.iter().fold(Shoot::new(), |shoot, name| shoot.with(name, frame));
    let start = |out: &str| {
        Command::new(program())
            .args(["frames", "--each-frame"])
            .args(names)
            .args(["--corrections", out, "--proofs", out, "--report", &format!("{out}.html")])
            .current_dir(shoot.folder())
            .env("XDG_CONFIG_HOME", shoot.path(".config"))
            .stdout(Stdio::null())
            .spawn()
            .expect("starts")
    };
    let begun = Instant::now();
    assert!(start("whole").wait().expect("ends").success());
    let all = begun.elapsed();
    let files = |out: &str| -> Vec<_> {
        let files = fs::read_dir(shoot.path(out)).into_iter().flatten();
        files.map(|entry| entry.expect("an entry").file_name()).collect()
    };
    assert!(files("whole").len() > 8, "{:?}", files("whole"));
    let mut stopped = 0;
    for n in 0..16 {
        let out = format!("stopped-{n}");
        let mut child = start(&out);
        // The files come last.
        std::thread::sleep(all * (n + 16) / 32);
        interrupt(&child);
        let status = child.wait().expect("ends");
        assert!(status.success() || status.signal() == Some(2), "{status}");
        stopped += usize::from(!status.success());
        for name in files(&out) {
            let read = |folder: &str| fs::read(shoot.path(folder).join(&name)).ok();
            // What a correction is named after stands in it.
            let length = |bytes: Option<Vec<u8>>| bytes.map(|bytes| bytes.len());
            assert_eq!(length(read(&out)), length(read("whole")), "{name:?} in {out}");
        }
        if let Ok(page) = fs::read_to_string(shoot.path(&format!("{out}.html"))) {
            assert!(page.trim_end().ends_with("</html>"), "half a page beside {out}");
        }
        let folder = shoot.path(&out);
        assert!(!folder.exists() || beside(&folder).is_empty(), "{:?}", beside(&folder));
    }
    assert!(beside(shoot.folder()).is_empty(), "{:?}", beside(shoot.folder()));
    assert!(stopped > 0, "none was interrupted");
}

#[test]
fn a_kill_leaves_the_old_file_or_the_new_one() {
    let old = "[daylight]\nkelvin = 5500\n";
    let shoot = Shoot::new();
    let mut killed = 0;
    for n in 0..40_u64 {
        fs::write(shoot.path("mine.toml"), old).expect("writes");
        let mut child = Command::new(program())
            .args(["presets", "--force", "--write", "mine.toml"])
            .current_dir(shoot.folder())
            .stdout(Stdio::null())
            .spawn()
            .expect("starts");
        std::thread::sleep(Duration::from_micros(150 * n));
        child.kill().expect("is ours");
        let status = child.wait().expect("ends");
        assert!(status.success() || status.signal() == Some(9), "{status}");
        killed += usize::from(!status.success());
        let text = fs::read_to_string(shoot.path("mine.toml")).expect("is there");
        let whole = mirecast::balance::PresetTable::built_in_text();
        assert!(text == old || text == whole, "{n}: {text}");
    }
    assert!(killed > 0, "none was killed");
}

#[test]
fn a_full_disk_costs_the_new_file_only() {
    const MINE: &str = "[daylight]\nkelvin = 5500\n";
    let shoot = Shoot::new().with("mine.toml", MINE.as_bytes());
    let check = |output: &Output, folder: &Path, kept: &str| {
        assert_eq!(output.status.code(), Some(1));
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(said.contains("mine.toml: cannot be written"), "{said}");
        assert_eq!(kept, MINE);
        assert!(beside(folder).is_empty(), "{:?}", beside(folder));
    };
    // As many bytes as a block of a limit has, which is fewer than the table's.
    let output =
        shell(shoot.folder(), "trap '' XFSZ; ulimit -f 1; mirecast gels --force --write mine.toml");
    check(&output, shoot.folder(), &fs::read_to_string(shoot.path("mine.toml")).expect("is there"));

    // A small disk needs the right to mount, as root has and, where the system lets them, users in a
    // name space of their own.
    fs::create_dir(shoot.path("small")).expect("a folder");
    let mount = "mount -t tmpfs -o size=4k none small";
    let mounts = |shell: &[&str]| run(shell, shoot.folder(), mount).status.success();
    let own = ["unshare", "--user", "--map-root-user", "--mount", "sh"];
    let shells: [&[&str]; 2] = [&["unshare", "--mount", "sh"], &own];
    let Some(shell) = shells.into_iter().find(|shell| mounts(shell)) else { return };
    let line = format!(
        "{mount} && cp mine.toml small && mirecast gels --force --write small/mine.toml; \
         code=$?; cat small/mine.toml; ls -A small >&2; exit $code"
    );
    let output = run(shell, shoot.folder(), &line);
    check(&output, &shoot.path("small"), &String::from_utf8_lossy(&output.stdout));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.contains("the disk is full"), "{said}");
    assert!(said.ends_with("\nmine.toml\n") && !said.contains(".mirecast-"), "left: {said}");
}

#[test]
fn the_same_input_gives_the_same_bytes_whatever_the_number_of_threads() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-frames");
    for line in [
        "mirecast card --format json --threads N dial-*.jpg",
        "mirecast card --threads N card-a*.jpg card-c*.jpg card-raw.dng README.md gone.jpg",
        "mirecast frames --threads N . truth.json",
        "mirecast frames --format csv --threads N . truth.json",
        "mirecast setups --threads N card-window-fills-frame.jpg card-lamps-fills-frame.jpg 5600K",
        "mirecast dial --threads N dial-1.jpg@2800K dial-2.jpg@3000K dial-3.jpg@3300K",
    ] {
        let run = |threads: &str| {
            let output = shell(&folder, &line.replace('N', threads));
            (output.status.code(), output.stdout, output.stderr)
        };
        let one = run("1");
        assert!(!one.1.is_empty(), "{line}");
        assert!(run("8") == one, "{line}");
    }
}
