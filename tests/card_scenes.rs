//! `mirecast card` on scenes drawn on the spot: what is the card, and what falls on it.

mod cli_common;
mod still_common;

use cli_common::{BLUE, NEUTRAL, ORANGE, Shoot, recorded};
use image::{Rgb, RgbImage};
use mirecast::colour::TransferCurve;
use serde_json::Value as Json;
use still_common::linear_to_srgb;

const WIDTH: f64 = 480.0;
const HEIGHT: f64 = 320.0;

/// Exif's LightSource for daylight.
const DAYLIGHT: u16 = 1;

/// The record of a picture whose linear light at each pixel is given, shot at the daylight preset.
fn read(light: impl Fn(f64, f64) -> [f64; 3]) -> Json {
    let picture = RgbImage::from_fn(WIDTH as u32, HEIGHT as u32, |x, y| {
        let light = light(f64::from(x) + 0.5, f64::from(y) + 0.5);
        // No camera gives all channels the same noise, and a picture without colour is refused.
        Rgb(std::array::from_fn(|channel| {
            let noise = f64::from((7 * x + 13 * y + 5 * channel as u32) % 3) - 1.0;
            (linear_to_srgb(light[channel].clamp(0.0, 1.0)) * 255.0 + noise).round() as u8
        }))
    });
    let shoot = Shoot::new().with("photo.jpg", &recorded(&picture.into(), DAYLIGHT));
    shoot.run(&["card", "--format", "json", "photo.jpg"]).records().remove(0)
}

fn codes(record: &Json) -> Vec<&str> {
    let problems = record["card"]["problems"].as_array().expect("problems");
    problems.iter().filter_map(|problem| problem["code"].as_str()).collect()
}

fn message<'a>(record: &'a Json, code: &str) -> &'a str {
    let problems = record["card"]["problems"].as_array().expect("problems");
    let problem = problems.iter().find(|problem| problem["code"] == code);
    problem.and_then(|problem| problem["message"].as_str()).unwrap_or_default()
}

fn scaled(colour: [f64; 3], by: f64) -> [f64; 3] {
    colour.map(|v| v * by)
}

fn between(a: [f64; 3], b: [f64; 3], share: f64) -> [f64; 3] {
    std::array::from_fn(|i| a[i] + (b[i] - a[i]) * share)
}

/// A little grain, so that nothing is flatter than a photo.
fn grain(x: f64, y: f64) -> f64 {
    let noise = ((x * 12.9898 + y * 78.233).sin() * 43_758.547).fract();
    1.0 + 0.02 * noise
}

/// Two lights that meet along an edge: its direction in degrees from upright, and its width in
/// pixels.
fn two_lights(direction: f64, width: f64) -> Json {
    let (sine, cosine) = direction.to_radians().sin_cos();
    let [left, right] = [scaled([0.84, 0.94, 1.0], 0.5), scaled([1.0, 0.72, 0.42], 0.55)];
    read(|x, y| {
        let along = (x - WIDTH / 2.0) * cosine + (y - HEIGHT / 2.0) * sine;
        scaled(between(left, right, (along / width + 0.5).clamp(0.0, 1.0)), grain(x, y))
    })
}

#[test]
fn two_lights_that_meet_on_a_card_are_no_flicker() {
    for direction in [0.0, 20.0, 90.0] {
        for width in [2.0, 12.0, 40.0, 120.0] {
            let record = two_lights(direction, width);
            let what = format!("{direction} degrees, {width} pixels wide: {:?}", codes(&record));
            assert_eq!(codes(&record), ["mixed-light"], "{what}");
            let said = message(&record, "mixed-light");
            assert_eq!(said.matches(" about ").count(), 2, "{what}: {said}");
        }
    }
}

/// A card in a light, a part of it in the shade of something, with what that shade is lit by; the
/// camera lays a contrast curve over it, from none at 0.
fn shaded(light: [f64; 3], shade: [f64; 3], width: f64, contrast: f64) -> Json {
    let curve = |v: f64| {
        let plain = TransferCurve::Srgb.encode(v);
        let steep = plain * plain * (3.0 - 2.0 * plain);
        TransferCurve::Srgb.decode(plain + (steep - plain) * contrast)
    };
    read(|x, y| {
        let along = x - 0.55 * WIDTH + 0.2 * (y - 0.5 * HEIGHT);
        let share = 0.5 + 0.5 * (along / width).tanh();
        let falloff = 1.0 - 0.1 * (y / HEIGHT).powi(2);
        scaled(between(light, shade, share), falloff * grain(x, y)).map(curve)
    })
}

#[test]
fn a_shadow_that_the_sky_fills_is_a_second_light() {
    let sky = [0.82, 0.97, 1.25];
    for (stops, width) in
        [1.0, 1.5, 2.0, 2.5].into_iter().flat_map(|s| [2.0, 20.0, 50.0].map(|w| (s, w)))
    {
        let record = shaded([0.7; 3], scaled(sky, 0.7 * f64::exp2(-stops)), width, 0.3);
        let what = format!("{stops} stops, {width} pixels wide: {:?}", codes(&record));
        assert!(codes(&record).contains(&"mixed-light"), "{what}");
        assert!(!codes(&record).contains(&"banding"), "{what}");
    }
}

#[test]
fn a_sharp_edge_leaves_a_card_that_fills_the_frame_whole() {
    // Lights that are far from equal.
    let lights = shaded([0.62, 0.7, 0.75], [0.32, 0.24, 0.15], 2.0, 0.0);
    assert!(codes(&lights).contains(&"mixed-light"), "{:?}", codes(&lights));
    // Only a corner is in the light.
    let light = [0.66, 0.7, 0.6];
    let corner = read(|x, y| {
        let is_lit = x + y < 0.42 * (WIDTH + HEIGHT);
        scaled(light, grain(x, y) * if is_lit { 1.0 } else { 0.5 })
    });
    assert_eq!((codes(&corner), &corner["status"]), (vec!["uneven"], &Json::from("read")));
}

#[test]
fn a_second_light_in_the_middle_of_a_card_is_one_too() {
    let (sky, lamp) = ([0.42, 0.45, 0.47], [0.56, 0.45, 0.32]);
    let off = |x: f64| (x / WIDTH - 0.5).abs();
    let round = |x: f64, y: f64| ((x / WIDTH - 0.5).hypot((y - HEIGHT / 2.0) / WIDTH) - 0.2) / 0.03;
    let soft = |beyond: f64| 1.0 / (1.0 + beyond.exp());
    let spot = |x: f64, y: f64| soft(round(x, y));
    let strip = |x: f64, _: f64| soft((off(x) - 0.15) / 0.02);
    let sharp = |x: f64, _: f64| if off(x) < 0.15 { 1.0 } else { 0.0 };
    let share_of: [&dyn Fn(f64, f64) -> f64; 3] = [&spot, &strip, &sharp];
    for (what, share) in ["spot", "strip", "sharp strip"].into_iter().zip(share_of) {
        let record = read(|x, y| scaled(between(sky, lamp, share(x, y)), grain(x, y)));
        assert!(codes(&record).contains(&"mixed-light"), "{what}: {:?}", codes(&record));
        let message = message(&record, "mixed-light");
        assert!(message.contains("middle about") && message.contains("edge about"), "{message}");
    }
}

#[test]
fn lights_of_one_temperature_and_two_tints_are_two() {
    let record = read(|x, y| {
        let share = (2.0 * (x / WIDTH - 0.25)).clamp(0.0, 1.0);
        scaled(between([0.45, 0.5, 0.45], [0.48, 0.46, 0.48], share), grain(x, y))
    });
    assert_eq!(record["status"], "refused", "{:?}", codes(&record));
    let message = message(&record, "mixed-light");
    assert!(message.contains("the left is greener than the right"), "{message}");
}

#[test]
fn a_light_that_changes_a_little_over_a_card_is_a_note() {
    let across = |warmer: f64| {
        read(|x, y| {
            let share = warmer * x / WIDTH;
            scaled([0.5 * (1.0 + share), 0.5, 0.5 * (1.0 - share)], grain(x, y))
        })
    };
    assert_eq!((codes(&across(0.1)), &across(0.1)["status"]), (vec!["drift"], &Json::from("read")));
    assert_eq!(codes(&across(0.04)), [""; 0]);
}

#[test]
fn a_card_out_of_focus_does_not_take_its_ground_in_as_a_good_one() {
    let wood = [0.25, 0.12, 0.05];
    let edge = |from: f64| 1.0 / (1.0 + (-from / 22.0).exp());
    let record = read(|x, y| {
        let inside = edge(x - 90.0) * edge(390.0 - x) * edge(y - 60.0) * edge(260.0 - y);
        scaled(between(wood, [0.55; 3], inside), grain(x, y))
    });
    assert_eq!(record["status"], "refused", "{:?}", codes(&record));
    let advice = record["advice"].to_string();
    assert!(codes(&record)[0] == "not-found" || advice.contains("focus on the card"), "{advice}");
}

#[test]
fn lines_of_print_are_no_flicker() {
    let record = read(|x, y| {
        let is_in_a_line = (y % 14.0) < 7.0 && (12.0..468.0).contains(&x);
        let is_ink = is_in_a_line && ((x * 0.9).sin() + (x * 0.37 + y).sin()) > 0.3;
        scaled([0.62; 3], if is_ink { 0.03 } else { grain(x, y) })
    });
    assert!(!codes(&record).contains(&"banding"), "{:?}", codes(&record));
    assert_eq!(record["status"], "refused");
}

#[test]
fn a_shadow_of_one_light_is_none_however_strong_the_curve() {
    for light in [[0.7, 0.5, 0.3], [0.45, 0.55, 0.7], [0.6; 3]] {
        for (stops, width) in [1.0, 2.0].into_iter().flat_map(|s| [2.0, 20.0, 50.0].map(|w| (s, w)))
        {
            let record = shaded(light, scaled(light, f64::exp2(-stops)), width, 0.8);
            let what = format!("{light:?}, {stops} stops, {width} pixels wide");
            assert_eq!(record["status"], "read", "{what}: {:?}", codes(&record));
            assert_eq!(codes(&record), ["uneven"], "{what}");
        }
    }
}

/// Bands of mains flicker on a card; `levels` gives what the lights add up to where the flicker is
/// at its mean, and where it is brightest.
fn bands(number: f64, light: impl Fn(f64) -> [f64; 3]) -> Json {
    flicker(number, 0.2, light)
}

/// The same for a swing of this part to either side.
fn flicker(number: f64, swing: f64, light: impl Fn(f64) -> [f64; 3]) -> Json {
    read(|x, y| {
        let wave = (std::f64::consts::TAU * number * y / HEIGHT + 0.7).cos();
        scaled(light(y / HEIGHT), grain(x, y) * (1.0 + swing * wave))
    })
}

#[test]
fn bands_are_flicker_and_may_hide_a_second_light() {
    for number in [1.9, 2.6, 5.0] {
        let one = bands(number, |_| [0.5; 3]);
        assert_eq!((codes(&one), &one["status"]), (vec!["banding"], &Json::from("read")));
    }
    // Too strong, and too many, to be smooth from line to line.
    for number in [5.0, 7.5] {
        let strong = flicker(number, 0.29, |_| [0.5, 0.42, 0.33]);
        assert_eq!((codes(&strong), &strong["status"]), (vec!["banding"], &Json::from("read")));
    }
    // From top to bottom along with the bands.
    let two = bands(4.0, |down| scaled(between([0.8, 0.95, 1.0], [1.0, 0.7, 0.4], down), 0.5));
    assert_eq!(two["status"], "refused", "{:?}", codes(&two));
    assert!(message(&two, "mixed-light").contains("top about"), "{:?}", codes(&two));
}

/// A card that covers a part of the frame, turned a little, on ground of a colour.
fn on_ground(part: f64, ground: [f64; 3], light: [f64; 3]) -> Json {
    let scale = part.sqrt();
    read(|x, y| {
        let (across, down) = ((x - 0.55 * WIDTH) / WIDTH, (y - 0.45 * HEIGHT) / HEIGHT);
        let (across, down) = (across + 0.08 * down, down - 0.06 * across);
        let is_card = across.abs().max(down.abs()) < 0.5 * scale;
        let plank = 1.0 + 0.06 * (y / 9.0).sin();
        let surface = if is_card { [0.85; 3] } else { scaled(ground, plank) };
        let falloff = 0.75 - 0.1 * x / WIDTH;
        std::array::from_fn(|i| surface[i] * light[i] * falloff * grain(x, y))
    })
}

#[test]
fn a_card_on_a_coloured_table_is_the_card_and_the_table_is_not() {
    let grounds = [[0.32, 0.17, 0.08], [0.5, 0.06, 0.05], [0.06, 0.12, 0.4], [0.25; 3], [0.04; 3]];
    for (ground, part) in grounds.into_iter().flat_map(|g| [(g, 0.08), (g, 0.25)]) {
        for light in [NEUTRAL, ORANGE] {
            let record = on_ground(part, ground, light);
            let what = format!("{part} on {ground:?} in {light:?}: {}", record["card"]);
            assert_eq!(record["status"], "read", "{what}");
            let coverage = record["card"]["coverage"].as_f64().expect("a number");
            assert!((coverage / part - 1.0).abs() < 0.15, "{what}");
            let white = &record["residual"]["white_linear_srgb"];
            for (channel, wanted) in light.into_iter().enumerate() {
                let got = white[channel].as_f64().expect("a number");
                assert!((got - wanted).abs() < 0.04, "{white} on {what}");
            }
        }
    }
}

#[test]
fn an_overexposed_card_is_no_reflection_on_the_table() {
    let grounds = [[0.32, 0.17, 0.08], [0.1, 0.12, 0.35], [0.6, 0.55, 0.45], [0.05; 3]];
    for (ground, part) in grounds.into_iter().flat_map(|g| [(g, 0.06), (g, 0.2)]) {
        let record = on_ground(part, ground, [1.9, 1.8, 1.7]);
        let what = format!("{part} of the frame on {ground:?}: {:?}", codes(&record));
        assert_eq!(record["status"], "refused", "{what}");
        assert!(!codes(&record).contains(&"glare"), "{what}");
        if codes(&record)[0] == "not-found" {
            let said = message(&record, "not-found");
            assert!(said.contains("is blown out"), "{what}: {said}");
            let advice = record["advice"][0].as_str().expect("advice");
            assert!(advice.contains("close down"), "{what}: {advice}");
        }
    }
}

#[test]
fn a_small_blown_card_among_other_things_is_said_to_be_blown() {
    let record = read(|x, y| {
        let is_card = (170.0..310.0).contains(&x) && (100.0..200.0).contains(&y);
        let thing = 0.06 + 0.05 * ((x / 31.0).floor() + (y / 23.0).floor() * 3.0).sin();
        if is_card { [1.9, 1.8, 1.7] } else { [thing, 0.9 * thing, 0.8 * thing] }
    });
    assert_eq!((&record["status"], codes(&record)), (&Json::from("refused"), vec!["not-found"]));
    let said = message(&record, "not-found");
    assert!(said.contains("(9 % of the frame) is blown out"), "{said}");
}

#[test]
fn a_dark_card_is_read_with_how_much_exposure_it_wants() {
    let record = read(|x, y| scaled([0.024, 0.026, 0.028], grain(x, y)));
    assert_eq!((&record["status"], codes(&record)), (&Json::from("read"), vec!["dim"]));
    let advice = record["advice"].as_array().expect("advice").last().cloned();
    let advice = advice.as_ref().and_then(Json::as_str).expect("a sentence");
    assert_eq!(advice, "Open up by about 4 stops and photograph the card again.");
}

#[test]
fn where_a_bright_card_reaches_the_top_there_is_no_reflection() {
    // Warm and bright: red is at the top in the middle, where the light is strongest.
    let record = read(|x, y| {
        let away = ((x - 0.5 * WIDTH) / WIDTH).powi(2) + ((y - 0.5 * HEIGHT) / WIDTH).powi(2);
        scaled([1.02, 0.72, 0.5], (1.0 - 1.2 * away) * grain(x, y))
    });
    assert_eq!((&record["status"], codes(&record)), (&Json::from("read"), vec!["partly-clipped"]));
    let places = record["card"]["problems"][0]["places"].as_array().expect("places");
    assert!(!places.is_empty());
}

#[test]
fn a_table_is_no_card_however_small_the_card_on_it() {
    let record = on_ground(0.03, [0.32, 0.17, 0.08], NEUTRAL);
    assert_eq!((&record["status"], codes(&record)), (&Json::from("refused"), vec!["not-found"]));
    let said = message(&record, "not-found");
    assert!(said.contains("something brighter lies on it ("), "{said}");
    assert!(record["advice"][0].as_str().expect("advice").starts_with("Fill the frame"));
}

#[test]
fn what_a_second_light_overexposes_is_no_reflection() {
    // The sky over all of it, and a lamp near the right side.
    let record = read(|x, y| {
        let away = ((x - 0.95 * WIDTH).hypot(y - 0.5 * HEIGHT) / WIDTH).powi(2);
        let lamp = scaled([1.0, 0.66, 0.35], 0.9 / (1.0 + 14.0 * away));
        let light: [f64; 3] = std::array::from_fn(|i| 0.3 * BLUE[i] + lamp[i]);
        scaled(light, grain(x, y))
    });
    assert_eq!(codes(&record)[..1], ["mixed-light"], "{}", record["card"]);
    assert!(!codes(&record).contains(&"glare"), "{}", record["card"]);
    assert!(codes(&record).contains(&"partly-clipped"), "{}", record["card"]);
}

#[test]
fn a_card_held_by_one_edge_is_found_from_what_the_fingers_leave() {
    let skin = [0.42, 0.26, 0.18];
    let held_at = |edge: f64| {
        read(|x, y| {
            let is_card = (130.0..350.0).contains(&x) && (60.0..220.0).contains(&y);
            // Three fingers from below, of which two gaps show a little of the card.
            let finger = ((x - edge).rem_euclid(24.0) - 10.0).abs() < 9.0 && y > 170.0;
            let is_hand = (edge..edge + 70.0).contains(&x) && (finger || y > 228.0);
            let thing = 0.06 + 0.05 * ((x / 31.0).floor() + (y / 23.0).floor() * 3.0).sin();
            let surface = match (is_hand, is_card) {
                (true, _) => skin,
                (false, true) => [0.6; 3],
                (false, false) => [thing, 0.9 * thing, 0.8 * thing],
            };
            scaled(surface, grain(x, y))
        })
    };
    let record = held_at(200.0);
    assert_eq!(record["status"], "read", "{}", record["card"]);
    assert!(codes(&record).contains(&"marked"), "{}", record["card"]);
    let coverage = record["card"]["coverage"].as_f64().expect("a number");
    assert!((coverage / (220.0 * 160.0 / WIDTH / HEIGHT) - 1.0).abs() < 0.1, "{coverage}");
    for channel in 0..3 {
        let got = record["residual"]["white_linear_srgb"][channel].as_f64().expect("a number");
        assert!((got - 1.0).abs() < 0.03, "{}", record["residual"]);
    }
    // Over a corner they leave no telling where the card ends.
    assert_eq!(codes(&held_at(300.0))[0], "not-found");
}

#[test]
fn a_picture_of_a_few_pixels_shows_no_card() {
    let of = |[width, height]: [u32; 2]| {
        let picture =
            RgbImage::from_fn(width, height, |x, y| Rgb([150 + ((x + 3 * y) % 2) as u8, 150, 148]));
        let shoot = Shoot::new().with("tiny.jpg", &recorded(&picture.into(), DAYLIGHT));
        shoot.run(&["card", "--format", "json", "tiny.jpg"]).records().remove(0)
    };
    for size in [[1, 1], [5, 5], [15, 40], [3000, 40]] {
        let record = of(size);
        assert_eq!(
            (&record["status"], &record["card"]["coverage"]),
            (&"refused".into(), &0.0.into())
        );
        let [across, down] = size;
        let said = message(&record, "not-found");
        assert!(said.contains(&format!("is {across} x {down} pixels, too small")), "{said}");
    }
    assert_eq!(of([16, 16])["status"], "read");
}
