//! A bracket is one camera's: photos of another are left out.

use super::problem::BracketProblem;
use super::record::BracketPhoto;
use crate::card::ShotRecord;
use crate::setups::setup::SetupPhoto;

/// A camera, as far as files say which; and its photos, by their places.
struct Camera<'a> {
    model: Option<&'a str>,
    body: Option<&'a str>,
    photos: Vec<usize>,
}

impl<'a> Camera<'a> {
    /// Whether a photo may be its: nothing that both say differs.
    fn may_have_taken(&self, shot: &ShotRecord) -> bool {
        let same = |known: Option<&str>, other: &Option<String>| {
            known.is_none() || other.is_none() || known == other.as_deref()
        };
        same(self.model, &shot.camera) && same(self.body, &shot.body)
    }

    fn add(&mut self, place: usize, shot: &'a ShotRecord) {
        self.model = self.model.or(shot.camera.as_deref());
        self.body = self.body.or(shot.body.as_deref());
        self.photos.push(place);
    }

    /// Its model, and its serial number where others are of the same model.
    fn name(&self, all: &[Camera<'_>]) -> String {
        let model = self.model.unwrap_or("an unnamed camera");
        let alike = all.iter().filter(|other| other.model == self.model).count() > 1;
        match self.body.filter(|_| alike) {
            Some(body) => format!("{model} (serial number {body})"),
            None => model.to_owned(),
        }
    }
}

/// Leaves out the photos that are not of the camera that took most of those that count; what is wrong where
/// none did. A photo whose file names no camera stays in.
pub(super) fn one_camera(
    photos: &[SetupPhoto],
    records: &mut [BracketPhoto],
) -> Option<BracketProblem> {
    let mut cameras: Vec<Camera> = Vec::new();
    for (place, (photo, record)) in photos.iter().zip(records.iter()).enumerate() {
        let Some(shot) = photo.reading.as_ref().ok().map(|reading| &reading.shot) else { continue };
        if record.left_out.is_some() || (shot.camera.is_none() && shot.body.is_none()) {
            continue;
        }
        match cameras.iter_mut().find(|camera| camera.may_have_taken(shot)) {
            Some(camera) => camera.add(place, shot),
            None => {
                let mut camera = Camera { model: None, body: None, photos: Vec::new() };
                camera.add(place, shot);
                cameras.push(camera);
            }
        }
    }
    let most = cameras.iter().map(|camera| camera.photos.len()).max()?;
    let of_most: Vec<&Camera> =
        cameras.iter().filter(|camera| camera.photos.len() == most).collect();
    let [one] = of_most[..] else {
        let cameras = cameras.iter().map(|camera| camera.name(&cameras)).collect();
        return Some(BracketProblem::SeveralCameras { cameras });
    };
    let own = one.name(&cameras);
    for other in cameras.iter().filter(|camera| !std::ptr::eq(*camera, one)) {
        let name = other.name(&cameras);
        for &place in &other.photos {
            if let Some(record) = records.get_mut(place) {
                record.is_of_another_camera([&name, &own]);
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::setups::examples::photo;

    /// What is said of photos by these cameras, and which are left out.
    fn of(cameras: &[(Option<&str>, Option<&str>)]) -> (Option<BracketProblem>, Vec<bool>) {
        let photos: Vec<SetupPhoto> = cameras
            .iter()
            .map(|(model, body)| {
                let mut photo = photo("a.jpg", 200.0);
                if let Ok(reading) = &mut photo.reading {
                    reading.shot.camera = model.map(str::to_owned);
                    reading.shot.body = body.map(str::to_owned);
                }
                photo
            })
            .collect();
        let mut records: Vec<BracketPhoto> = photos.iter().map(BracketPhoto::of).collect();
        let problem = one_camera(&photos, &mut records);
        (problem, records.iter().map(|record| record.left_out.is_some()).collect())
    }

    #[test]
    fn the_camera_of_most_photos_is_the_brackets() {
        let [a, b] = [(Some("A"), None), (Some("B"), None)];
        assert_eq!(of(&[a, a, a]), (None, vec![false; 3]));
        assert_eq!(of(&[a, b, a, (None, None)]), (None, vec![false, true, false, false]));
        let cameras = vec!["A".to_owned(), "B".to_owned()];
        assert_eq!(of(&[a, b]), (Some(BracketProblem::SeveralCameras { cameras }), vec![false; 2]));
        assert_eq!(of(&[(None, None), (None, None)]), (None, vec![false; 2]));
    }

    #[test]
    fn two_bodies_of_one_model_are_two_cameras() {
        let body = |serial| (Some("A"), Some(serial));
        assert_eq!(of(&[body("1"), body("2"), body("1")]), (None, vec![false, true, false]));
        assert_eq!(of(&[body("1"), (Some("A"), None)]), (None, vec![false; 2]));
        let (problem, _) = of(&[body("1"), body("2")]);
        assert!(problem.unwrap().message().contains("A (serial number 1), A (serial number 2)"));
    }
}
