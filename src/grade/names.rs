//! Names for files and ids that are legal, and no two alike.

use std::collections::BTreeMap;
use std::path::Path;

/// A name for each path, from its file's name: no two alike even where capitals do not count, each
/// legal as an XML id (NCName) and as a file's name everywhere.
///
/// Where two files share a name their folders' names are put before it, and numbers after it where
/// that does not do.
#[must_use]
pub fn unique_names(paths: &[impl AsRef<Path>]) -> Vec<String> {
    let short: Vec<_> = paths.iter().map(|path| legal(&stem(path.as_ref()))).collect();
    let mut uses: BTreeMap<String, usize> = BTreeMap::new();
    for name in &short {
        *uses.entry(name.to_lowercase()).or_default() += 1;
    }
    let shared = |name: &str| uses.get(&name.to_lowercase()).is_some_and(|uses| *uses > 1);
    let mut taken = std::collections::BTreeSet::new();
    // Whoever is alone by that name keeps it, wherever it comes in the list.
    taken.extend(short.iter().filter(|name| !shared(name)).map(|name| name.to_lowercase()));
    let mut name_of = |path: &Path, short: String| {
        if !shared(&short) {
            return short;
        }
        let folder = path.parent().and_then(Path::file_name).map(|name| name.to_string_lossy());
        let wanted =
            folder.map_or_else(|| short.clone(), |folder| legal(&format!("{folder}-{short}")));
        let numbered = (2_usize..).map(|number| format!("{wanted}-{number}"));
        let free = std::iter::once(wanted.clone())
            .chain(numbered)
            .find(|name| taken.insert(name.to_lowercase()));
        free.unwrap_or(wanted)
    };
    paths.iter().zip(short).map(|(path, short)| name_of(path.as_ref(), short)).collect()
}

fn stem(path: &Path) -> String {
    path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default()
}

/// The name with everything else replaced by `_`, not endless, and beginning with a letter.
fn legal(name: &str) -> String {
    const LONGEST: usize = 80;
    // Letters that XML 1.0 takes in a name, of the scripts that file names are written in.
    let is_letter = |c: char| {
        c.is_ascii_alphabetic()
            || (c.is_alphabetic() && matches!(c, '\u{c0}'..='\u{1fff}' | '\u{3040}'..='\u{d7ff}'))
    };
    let is_legal = |c: char| is_letter(c) || c.is_ascii_digit() || matches!(c, '-' | '_' | '.');
    let mut legal: String =
        name.chars().take(LONGEST).map(|c| if is_legal(c) { c } else { '_' }).collect();
    if !legal.starts_with(|c: char| is_letter(c) || c == '_') {
        legal.insert_str(0, "picture-");
    }
    legal
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(paths: &[&str]) -> Vec<String> {
        unique_names(&paths.iter().map(Path::new).collect::<Vec<_>>())
    }

    #[test]
    fn a_picture_keeps_its_name_where_it_is_the_only_one() {
        assert_eq!(names(&["day1/a.jpg", "day2/b.jpg"]), ["a", "b"]);
        assert_eq!(names(&["day1/a.jpg", "day2/A.jpg"]), ["day1-a", "day2-A"]);
        assert_eq!(names(&["d/a.jpg", "d/a.png", "e/a.jpg"]), ["d-a", "d-a-2", "e-a"]);
        assert_eq!(names(&["d/a.jpg", "e/a.jpg", "d-a.jpg"]), ["d-a-2", "e-a", "d-a"]);
        assert_eq!(names(&["a.jpg", "a.jpg"]), ["a", "a-2"]);
    }

    #[test]
    fn names_are_legal_whatever_the_files_are_called() {
        let odd = ["0012.jpg", "a<b>&\"'.jpg", "\u{1b}[2J.jpg", "", "été 01.jpg", "-x.jpg", "."];
        let made = names(&odd);
        assert_eq!(made[0], "picture-0012");
        assert_eq!(made[1], "a_b____");
        assert_eq!(made[4], "été_01");
        for name in made {
            assert!(!name.is_empty() && !name.contains(['/', '\\', '<', '&', '"', ' ', '\u{1b}']));
        }
        assert!(names(&[&"x".repeat(500)])[0].len() < 100);
    }
}
