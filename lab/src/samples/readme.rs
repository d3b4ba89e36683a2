//! The page that goes with the samples.

use std::fmt::Write;

use super::shot::{Balance, Kind, Shot};
use super::truth::Truth;

const OPENING: &str = "\
# Sample frames

A day at a potter's studio, Tuesday 12 March 2024. The studio has a tall window on the left, hanging tungsten lamps over
the bench, and an old strip lamp over the kiln corner. Two cameras and one white card go round: the crew wants to know
what light each corner is in before anything is filmed. Some of the card photographs are good to balance from, some show
what goes wrong; the other frames show what a wrong balance does to the studio.

Nothing here was photographed. `cargo run --release -p lab -- samples sample-frames` renders every picture, this page and
`truth.json` anew, each time the same. The room, the cameras' sensors and their tone curves are made up, and lights are
spectra, so the true light is known: it is what falls on the middle of the card (in a frame without one, on its subject),
with what the walls and the bench send back. The card is neutral and reflects 0.88. The pictures may be used, changed and passed on as the rest of the project.

**Light** is the true correlated colour temperature and Duv. **Balance** is what the camera was set to; it is recorded in
the file's Exif LightSource except where it says so. Exif also has the time, the shutter and which camera it was.

";

const CLOSING: &str = "\
## Before you do the same

- Lamp shades, bulbs and their clips are hot enough to burn for a long while after they are switched off. Move the card,
  not the lamp; keep card and paper a hand's width and more from a bulb.
- The strip lamp and the kiln are on the mains. Leave their covers closed, keep wet hands and stands away from them, and
  do not prop a card on a kiln that is on or still warm.
- For flickering mains lamps use a shutter time of 1/50 or 1/100 s where the mains is 50 Hz, 1/60 or 1/120 s where it is
  60 Hz.

## `truth.json`

One object a file: `kind`, `cct` in kelvin, `mired`, `duv`, `preset` (null for automatic balance and for the dial),
`preset_recorded`, and `usable`: whether the light can be read from a card in the picture. Those of the bracket have `dial_kelvin`, what the dial
was set to, and `neutral_kelvin`, at which number the card would be neutral on this camera.
";

/// The page, with a table of cards and one of frames.
pub(super) fn text(album: &[(Shot, Truth)]) -> String {
    let mut page = OPENING.to_owned();
    let cards = |kind: Kind| !matches!(kind, Kind::Frame | Kind::Bracket);
    let parts: [(&str, &dyn Fn(Kind) -> bool); 3] = [
        ("## White cards", &cards),
        ("## A bracket on the kelvin dial", &|kind| kind == Kind::Bracket),
        ("## Frames", &|kind| kind == Kind::Frame),
    ];
    for (title, belongs) in parts {
        let _ = write!(
            page,
            "{title}\n\n| time | picture | what it shows | light | balance | what the program should say |\n\
             |---|---|---|---|---|---|\n"
        );
        for (shot, truth) in album.iter().filter(|(shot, _)| belongs(shot.kind)) {
            let balance = match shot.balance {
                Balance::Preset(preset) => preset.name().to_owned(),
                Balance::Auto { .. } if shot.is_raw() => {
                    "automatic, recorded in the raw file only".to_owned()
                }
                Balance::Auto { .. } => "automatic, not recorded".to_owned(),
                Balance::Dial { kelvin } => format!("dial at {kelvin:.0} K, not recorded"),
            };
            let _ = writeln!(
                page,
                "| {} | [`{}`]({}) | {} | {}: {:.0} K, Duv {:+.4} | {} | {} |",
                &shot.time[..5],
                shot.file,
                shot.file,
                shot.story,
                shot.light,
                truth.cct,
                truth.duv,
                balance,
                shot.expected
            );
        }
        page.push('\n');
    }
    page.truncate(page.trim_end().len());
    page.push_str("\n\n");
    page.push_str(CLOSING);
    page
}
