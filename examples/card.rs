//! One photo of a card, as a program of your own may read it:
//!
//!     cargo run --example card -- sample-frames/card-lamps-fills-frame.jpg
//!
//! With a preset or a temperature behind the photo it is taken for the camera's balance.

#![expect(clippy::print_stdout, reason = "a program prints")]

use std::error::Error;

use mirecast::balance::{AsShot, PresetTable};
use mirecast::card::{CardOptions, Status, read_card};
use mirecast::still;

fn main() -> Result<(), Box<dyn Error>> {
    let mut words = std::env::args().skip(1);
    let photo = words.next().unwrap_or("sample-frames/card-lamps-fills-frame.jpg".to_owned());

    let mut options = CardOptions::new(PresetTable::built_in()?);
    options.shot_at = words.next().map(|b| AsShot::stated(&b, &options.presets)).transpose()?;

    // A damaged or strange file is an error that says what it is and what to do with it.
    let still = still::read(photo.as_ref(), &still::ReadOptions::default())?;
    // A card that cannot be balanced from is none: it is a reading that says so.
    let reading = read_card(&still, &options);

    println!("{photo}: {:?}", reading.status);
    for problem in &reading.card.problems {
        println!("  {}: {}", problem.code, problem.message);
    }
    if let Some(light) = &reading.light {
        let [low, high] = light.cct_interval_kelvin;
        println!("  {:.0} K ({low:.0} to {high:.0}), Duv {:+.4}", light.cct_kelvin, light.duv);
    }
    for miss in &reading.presets {
        println!("  {:<12} {:+5.0} mired  {}", miss.name, miss.miss_mired, miss.appearance);
    }
    for advice in &reading.advice {
        println!("  {advice}");
    }
    if reading.status == Status::Refused {
        Err("it cannot be balanced from".into())
    } else {
        Ok(())
    }
}
