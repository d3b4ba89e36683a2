//! What comes back to photos, sound and broken, and to what makes no sense.

use std::thread;

use serde_json::Value;

use super::{assert_status, body_of, card, desk, limits, parcel};

#[test]
fn what_makes_no_sense_is_refused_with_words() {
    let desk = desk(limits());
    for (what, body) in [
        ("card", "no parcel"),
        ("card", "[]\n"),
        ("setups", "[{\"name\":\"a\",\"bytes\":0}]\n"),
        ("frames", "{}"),
        ("frames", "[]"),
        ("frames", "{\"frames\":[{\"record\":\"{}\",\"with\":null}]}"),
    ] {
        assert_status(&desk.post(what, body.as_bytes()), 400);
    }
    let forged = "{\"frames\":[{\"record\":\"{}\",\"with\":null,\"seal\":\"AAAA\"}]}";
    assert_status(&desk.post("frames", forged.as_bytes()), 409);
    let answer = desk.post("card", &parcel("a.jpg", ",\"shot_at\":\"tungstem\"", b"x"));
    assert_status(&answer, 422);
    assert!(answer.contains("did you mean `tungsten`?"), "{answer}");
}

#[test]
fn a_broken_photo_harms_only_itself() {
    let desk = desk(limits());
    let whole = card();
    let half = &whole[..whole.len() / 2];
    let bombs: [&[u8]; 4] = [
        b"",
        b"no picture",
        half,
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\xff\xff\xff\xff\xff\xff\xff\xff\x08\x02\0\0\0",
    ];
    thread::scope(|threads| {
        for bomb in bombs {
            let desk = &desk;
            threads.spawn(move || {
                for what in ["card", "frame"] {
                    let answer = desk.post(what, &parcel("<b>x</b>.jpg", "", bomb));
                    assert_status(&answer, 200);
                    assert!(answer.contains("error"), "{answer:.900}");
                    assert!(!answer.contains("<b>x</b></bdi>"), "{answer}");
                }
            });
        }
        for _ in 0..4 {
            let answer = desk.post("card", &parcel("a.jpg", ",\"shot_at\":\"5600K\"", &whole));
            assert_status(&answer, 200);
            assert!(answer.contains("cct_kelvin"), "{answer:.300}");
        }
    });
}

#[test]
fn frames_come_back_in_groups() {
    let desk = desk(limits());
    let (mut sealed, mut sampled) = (Vec::new(), Vec::new());
    for (name, bytes) in [("a.jpg", card()), ("broken.jpg", b"no".to_vec()), ("b.jpg", card())] {
        let answer = desk.post("frame", &parcel(name, "", &bytes));
        assert_status(&answer, 200);
        let answer: Value = serde_json::from_str(body_of(&answer)).unwrap();
        sealed.push(answer["shown"].clone());
        sampled.push(answer["sampled"].clone());
    }
    let body = serde_json::json!({"frames": sealed}).to_string();
    let answer = desk.post("frames", body.as_bytes());
    assert_status(&answer, 200);
    let answer: Value = serde_json::from_str(body_of(&answer)).unwrap();
    let records = answer["records"].as_array().unwrap();
    assert_eq!(records.len(), 4, "three frames and a group: {records:?}");
    let section = answer["section"].as_str().unwrap();
    assert_eq!(section.matches("<li class=\"frame\"").count(), 3);
    assert!(section.contains("data:image/jpeg;base64,"));
    // What was changed in between is noticed.
    let changed = body.replace("b.jpg", "c.jpg");
    assert_status(&desk.post("frames", changed.as_bytes()), 409);
    // One for the other is not taken either.
    let swapped = serde_json::json!({"frames": sampled}).to_string();
    assert_status(&desk.post("frames", swapped.as_bytes()), 409);

    let wanted = |frames: &[Value]| {
        let wanted = serde_json::json!({"footage": "srgb", "strength": "100", "frames": frames});
        desk.post("corrections", wanted.to_string().as_bytes())
    };
    let answer = wanted(&sampled);
    assert_status(&answer, 200);
    let answer: Value = serde_json::from_str(body_of(&answer)).unwrap();
    assert_eq!(answer["records"].as_array().unwrap().len(), 4);
    assert_status(&wanted(&sealed), 409);
}

#[test]
fn corrections_that_make_no_sense_are_refused_with_words() {
    let desk = desk(limits());
    let answer = desk.post("card", &parcel("a.jpg", ",\"shot_at\":\"5600K\"", &card()));
    let answer: Value = serde_json::from_str(body_of(&answer)).unwrap();
    let sealed = &answer["sealed"];
    let ask = |footage: &str, strength: &str, cards: &[&Value]| {
        let wanted = serde_json::json!({"footage": footage, "strength": strength, "cards": cards});
        desk.post("corrections", wanted.to_string().as_bytes())
    };
    assert_status(&ask("srgb", "100", &[sealed]), 200);
    for (footage, strength, words) in [
        ("log", "100", "choose Rec. 709 or linear light here"),
        ("technicolour", "100", "no encoding that is known here"),
        ("srgb", "0", "a percentage from 1 to 100"),
    ] {
        let answer = ask(footage, strength, &[sealed]);
        assert_status(&answer, 422);
        assert!(answer.contains(words) && !answer.contains("--"), "{answer}");
    }
    assert_status(&ask("srgb", "100", &[]), 400);
    assert_status(&desk.post("cards", b"{\"cards\":[]}"), 400);
    let many = vec![sealed; 4];
    let answer = desk.post("cards", serde_json::json!({"cards": many}).to_string().as_bytes());
    assert_status(&answer, 413);
    assert!(answer.contains("3 are the most"), "{answer}");
}
