//! Who may know whom, and who alone may do what.

use crate::source::{Source, below, offenders};

/// The rooms of core from the ground up; a room may use those before it. Rooms of one level do not know each other.
const LEVELS: &[&[&str]] = &[
    &["units", "job", "error"],
    &["place"],
    &["survey"],
    &["files"],
    &["measure", "reach"],
    &["foresee"],
    &["walks"],
    &["intake", "store"],
    &["brief"],
];

fn level(room: &str) -> usize {
    LEVELS.iter().position(|l| l.contains(&room)).unwrap_or_else(|| panic!("{room} is no room: add it to LEVELS and to DEVELOPERS.md"))
}

fn room_of(path: &str) -> Option<&str> {
    let inner = path.strip_prefix("core/src/")?;
    let first = inner.split('/').next()?;
    let room = first.strip_suffix(".rs").unwrap_or(first);
    (room != "lib").then_some(room)
}

/// Rooms that a file names through `crate::`.
fn rooms_used(file: &Source) -> Vec<String> {
    let code = file.code();
    code.split("crate::")
        .skip(1)
        .map(|rest| rest.chars().take_while(|c| c.is_ascii_lowercase()).collect::<String>())
        .filter(|r| !r.is_empty())
        .collect()
}

#[test]
fn rooms_look_downwards_only() {
    let mut wrong = Vec::new();
    for file in below("core/src") {
        let Some(room) = room_of(&file.path) else { continue };
        for used in rooms_used(&file).iter().filter(|u| u.as_str() != room) {
            let fine = level(used) < level(room) || (room == "reach" && used == "measure") || level(room) == 0 && level(used) == 0;
            if !fine {
                wrong.push(format!("{} uses {used}", file.path));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn core_starts_no_thread_reads_no_clock_and_prints_nothing() {
    let core = below("core/src");
    for pattern in [
        "thread::spawn",
        "thread::scope",
        "std::env",
        "SystemTime",
        "Instant::now",
        "Zoned::now",
        "Timestamp::now",
        "println!",
        "eprintln!",
        "print!(",
        "eprint!(",
        "dbg!",
        "rand::random",
    ] {
        let found = offenders(&core, pattern, |_| false);
        assert!(found.is_empty(), "{found:#?}");
    }
}

#[test]
fn one_place_for_each_outside_thing() {
    let core = below("core/src");
    let app = below("app/src");
    let rules: [(&[Source], &str, &[&str]); 10] = [
        (&core, "proj::", &["core/src/place/transform.rs"]),
        (&core, "File::open", &["core/src/files/", "core/src/store/"]),
        (&core, "File::create", &["core/src/files/", "core/src/store/"]),
        (&core, "fs::", &["core/src/files/", "core/src/store/"]),
        (&core, "Connection::open", &["core/src/files/", "core/src/store/"]),
        (&app, "thread::spawn", &["app/src/jobs.rs"]),
        (&app, "ureq::", &["app/src/online.rs"]),
        (&app, "wgpu::", &["app/src/map/gpu"]),
        (&app, "&mut Session", &["app/src/perform/", "app/src/session.rs"]),
        (&app, "Color32::from_", &["app/src/ui/theme.rs"]),
    ];
    for (files, pattern, homes) in rules {
        let found = offenders(files, pattern, |path| homes.iter().any(|h| path.starts_with(h)));
        assert!(found.is_empty(), "{pattern} belongs in {homes:?}: {found:#?}");
    }
}

#[test]
fn the_map_knows_no_desk() {
    let map: Vec<Source> = below("app/src").into_iter().filter(|f| f.path.starts_with("app/src/map/")).collect();
    for pattern in ["crate::desk", "crate::session", "crate::perform", "crate::app"] {
        let found = offenders(&map, pattern, |_| false);
        assert!(found.is_empty(), "{found:#?}");
    }
}

#[test]
fn the_entry_point_is_short() {
    let main = below("app/src").into_iter().find(|f| f.path == "app/src/main.rs").expect("main.rs");
    assert!(main.text.lines().count() <= 40);
}
