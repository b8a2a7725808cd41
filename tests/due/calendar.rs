//! The calendar of what is due, read back by the rules of RFC 5545 with nothing of the crate that wrote it.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use brimstock::commands::due::Calendar;
use brimstock::commands::due::rank::{Kind, Matter};
use brimstock::hazard::storage::Severity;
use brimstock::render::calendar::{calendar, is_ours};

use super::{day, matter};
use crate::harness::Bench;

/// Properties of one part: the name with its parameters, and the value as written.
type Part = BTreeMap<String, Vec<String>>;

/// Reads a calendar strictly: the head, and every entry.
#[track_caller]
fn read(file: &str) -> (Part, Vec<Part>) {
    // Section 3.1: every line ends in CRLF, and neither half stands alone.
    assert!(file.ends_with("\r\n"));
    assert_eq!(file.matches('\n').count(), file.matches("\r\n").count());
    assert_eq!(file.matches('\r').count(), file.matches("\r\n").count());
    let lines: Vec<&str> = file.split_terminator("\r\n").collect();
    for line in &lines {
        // Section 3.1: at most 75 octets without the break. Control characters stand in no text (section 3.1, CONTROL).
        assert!(line.len() <= 75, "{} octets: {line}", line.len());
        assert!(!line.is_empty() && !line.chars().any(char::is_control), "{line:?}");
    }
    // Section 3.1: a line that begins with a blank goes on where the one before ended, without that blank.
    let mut whole: Vec<String> = Vec::new();
    for line in lines {
        match line.strip_prefix(' ') {
            Some(rest) => whole.last_mut().expect("a first line").push_str(rest),
            None => whole.push(line.to_owned()),
        }
    }
    // Section 3.4: one object from BEGIN to END.
    assert_eq!((whole.first().unwrap().as_str(), whole.last().unwrap().as_str()), ("BEGIN:VCALENDAR", "END:VCALENDAR"));
    let (mut head, mut entries, mut open) = (Part::new(), Vec::new(), None::<Part>);
    for line in &whole[1..whole.len() - 1] {
        let (name, value) = line.split_once(':').expect("a name and a value");
        match (name, value) {
            ("BEGIN", "VEVENT") => assert!(open.replace(Part::new()).is_none(), "an entry within an entry"),
            ("END", "VEVENT") => entries.push(open.take().expect("an entry that began")),
            _ => open.as_mut().unwrap_or(&mut head).entry(name.to_owned()).or_default().push(value.to_owned()),
        }
    }
    assert!(open.is_none());
    // Section 3.6: product and version, once each; 3.7.4: the version of this standard.
    assert_eq!(head["VERSION"], ["2.0"]);
    assert_eq!(head["PRODID"].len(), 1);
    for entry in &entries {
        // Section 3.6.1: name, stamp and (without METHOD) start, each once, as whatever else may stand once.
        for name in ["UID", "DTSTAMP", "DTSTART;VALUE=DATE", "SUMMARY", "SEQUENCE", "LAST-MODIFIED", "CLASS"] {
            assert_eq!(entry.get(name).map(Vec::len), Some(1), "{name}: {entry:?}");
        }
        // Section 3.3.4: a day in eight digits. Section 3.3.5, form 2: a moment in UTC.
        let start = &entry["DTSTART;VALUE=DATE"][0];
        assert!(start.len() == 8 && start.bytes().all(|digit| digit.is_ascii_digit()), "{start}");
        for name in ["DTSTAMP", "LAST-MODIFIED"] {
            let moment = &entry[name][0];
            assert!(moment.len() == 16 && &moment[8..9] == "T" && moment.ends_with('Z'), "{moment}");
        }
        assert!(entry["SEQUENCE"][0].parse::<i32>().unwrap() >= 0, "section 3.3.8: 31 bits");
        for name in ["SUMMARY", "DESCRIPTION", "UID"] {
            text(&entry[name][0]);
        }
        assert!(!entry.contains_key("ATTENDEE") && !entry.contains_key("ORGANIZER"), "nobody is named");
    }
    let names: BTreeSet<&String> = entries.iter().map(|entry| &entry["UID"][0]).collect();
    assert_eq!(names.len(), entries.len(), "section 3.8.4.7: no two entries share a name");
    (head, entries)
}

/// A text as it was before it was written. Section 3.3.11: backslash, comma and semicolon are escaped, a line break is `\n`.
#[track_caller]
fn text(written: &str) -> String {
    let mut text = String::new();
    let mut signs = written.chars();
    while let Some(c) = signs.next() {
        assert!(!matches!(c, ',' | ';'), "`{c}` stands bare: {written}");
        text.push(match c {
            '\\' => match signs.next() {
                Some(c @ ('\\' | ',' | ';')) => c,
                Some('n' | 'N') => '\n',
                other => panic!("\\{other:?} is no escape: {written}"),
            },
            c => c,
        });
    }
    text
}

fn with(matters: Vec<Matter>) -> Calendar {
    Calendar {
        out: "due.ics".into(),
        on: day("2031-03-15"),
        to: day("2031-05-14"),
        matters,
        register: "0123456789abcdef0123456789abcdef".to_owned(),
        written_at: "2031-03-15T12:34:56Z".to_owned(),
    }
}

fn said(what: &str) -> Calendar {
    let one = matter(Kind::Look, Severity::Serious, "A1", Some("2031-03-20"));
    with(vec![Matter { what: what.to_owned(), ..one }])
}

#[test]
fn lines_of_every_length_and_script_come_back_whole() {
    // Around the lengths at which a line is folded once or twice, in letters of one, two, three and four octets.
    for letter in ["a", "é", "水", "🐌", "a ", "\\"] {
        for count in (13..=36).chain(56..=72).chain(130..=144) {
            let what = letter.repeat(count);
            let (_, entries) = read(&calendar(&said(&what)));
            assert_eq!(text(&entries[0]["SUMMARY"][0]), format!("A1: {what}"), "{count} times {letter}");
        }
    }
}

#[test]
fn signs_of_the_format_are_escaped_and_control_characters_go() {
    let what = "held: a, b; c\\d \"e\" \u{7}\r\tf: g";
    let file = calendar(&said(what));
    let (_, entries) = read(&file);
    assert_eq!(text(&entries[0]["SUMMARY"][0]), "A1: held: a, b; c\\d \"e\"    f: g");
    let injected = calendar(&said("x\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:1"));
    assert_eq!(read(&injected).1.len(), 1, "a line break in a text opens no entry");
}

#[test]
fn an_entry_stands_on_its_day_and_what_is_late_on_today() {
    let on = |due| {
        let file = calendar(&with(vec![matter(Kind::Look, Severity::Serious, "A1", due)]));
        let entry = read(&file).1.remove(0);
        (entry["DTSTART;VALUE=DATE"][0].clone(), text(&entry["DESCRIPTION"][0]))
    };
    let next = "next: brimstock shelf".to_owned();
    assert_eq!(on(Some("2031-03-20")), ("20310320".to_owned(), next.clone()));
    assert_eq!(on(Some("2031-03-15")), ("20310315".to_owned(), next.clone()));
    assert_eq!(on(None), ("20310315".to_owned(), next.clone()));
    assert_eq!(on(Some("2031-03-14")), ("20310315".to_owned(), format!("due since 2031-03-14\n{next}")));
}

#[test]
fn the_same_matter_keeps_its_name_and_no_other_has_it() {
    let name = |calendar_of: &Calendar| read(&calendar(calendar_of)).1.remove(0)["UID"][0].clone();
    let look = |about: &str, due: &str| matter(Kind::Look, Severity::Serious, about, Some(due));
    let first = name(&with(vec![look("A1", "2031-03-20")]));
    let moved = Matter { what: "other words".to_owned(), next: "brimstock due".to_owned(), ..look("A1", "2031-04-20") };
    assert_eq!(name(&with(vec![moved])), first);
    let later = Calendar { written_at: "2031-03-16T00:00:00Z".to_owned(), on: day("2031-03-16"), ..said("x") };
    assert_eq!(name(&later), first);
    assert_ne!(name(&with(vec![look("A2", "2031-03-20")])), first);
    assert_ne!(name(&with(vec![matter(Kind::Test, Severity::Serious, "A1", Some("2031-03-20"))])), first);
    let elsewhere = Calendar { register: "ffffffffffffffffffffffffffffffff".to_owned(), ..said("x") };
    assert_ne!(name(&elsewhere), first);
    // RFC 9562, section 5.8: version 8 and variant 10 in a UUID.
    let parts: Vec<&str> = first.split('-').collect();
    assert_eq!(parts.iter().map(|part| part.len()).collect::<Vec<_>>(), [8, 4, 4, 4, 12], "{first}");
    assert!(parts[2].starts_with('8') && parts[3].starts_with(['8', '9', 'a', 'b']), "{first}");
}

#[test]
fn what_is_written_later_wins() {
    let at = |moment: &str| {
        let entry = read(&calendar(&Calendar { written_at: moment.to_owned(), ..said("x") })).1.remove(0);
        (entry["SEQUENCE"][0].parse::<u64>().unwrap(), entry["DTSTAMP"][0].clone())
    };
    // 2031-03-15T12:34 is 32 190 514 minutes after 1970: 22 353 days and 754 minutes (GNU date: 1931344440 s).
    assert_eq!(at("2031-03-15T12:34:56Z"), (1_931_344_440 / 60, "20310315T123456Z".to_owned()));
    assert!(at("2031-03-15T12:34:56Z") < at("2031-03-15T12:34:57Z"));
    assert!(at("2031-03-15T12:34:56Z").0 < at("2031-03-15T12:35:00Z").0);
}

/// The stamps of the moment of writing taken out.
fn without_moment(file: &str) -> String {
    let stamps = ["DTSTAMP:", "LAST-MODIFIED:", "SEQUENCE:"];
    file.lines().filter(|line| !stamps.iter().any(|stamp| line.starts_with(stamp))).collect::<Vec<_>>().join("\n")
}

#[test]
fn the_same_calendar_gives_the_same_bytes() {
    let matters = vec![
        matter(Kind::Look, Severity::Serious, "A1", Some("2031-03-20")),
        matter(Kind::Test, Severity::Danger, "S03", None),
    ];
    assert_eq!(calendar(&with(matters.clone())), calendar(&with(matters)));
}

#[test]
fn written_twice_it_is_one_calendar_and_a_moved_day_keeps_its_name() {
    let bench = Bench::demo();
    let path = bench.folder().join("due.ics");
    let write = |day: &str| {
        let said = bench.on(day, "due --ics due.ics");
        assert_eq!(said.code, 1, "{said:?}");
        assert!(said.stdout.contains("written to due.ics"), "{}", said.stdout);
        fs::read_to_string(&path).unwrap()
    };
    let first = write("2031-03-05");
    let second = write("2031-03-05");
    assert_eq!(without_moment(&first), without_moment(&second));
    assert!(is_ours(first.as_bytes()));
    let (_, entries) = read(&second);
    let json = bench.on("2031-03-05", "--json due --days 60").json();
    assert_eq!(entries.len(), json["due"].as_array().unwrap().len(), "sixty days ahead, if nobody says");
    assert_eq!(fs::read_dir(bench.folder()).unwrap().filter(is_left_over).count(), 0);

    // S11 is late on 5 March; tested on 6 March it is due thirty days later, under the same name.
    let late = |entries: &[BTreeMap<String, Vec<String>>]| {
        let entry = entries.iter().find(|entry| text(&entry["SUMMARY"][0]).starts_with("S11: made up")).unwrap();
        (entry["UID"][0].clone(), entry["DTSTART;VALUE=DATE"][0].clone())
    };
    let before = late(&entries);
    bench.on("2031-03-06", "assay S11 figure \"39 g/L\" --sd 3%").ok();
    let after = late(&read(&write("2031-03-06")).1);
    assert_eq!(before.0, after.0);
    assert_eq!((before.1.as_str(), after.1.as_str()), ("20310305", "20310405"));
}

fn is_left_over(file: &std::io::Result<fs::DirEntry>) -> bool {
    let name = file.as_ref().unwrap().file_name().to_string_lossy().into_owned();
    name.starts_with(".tmp")
}

#[test]
fn an_empty_calendar_is_a_calendar() {
    let bench = Bench::new();
    let said = bench.on("2031-03-05", "due --ics due.ics").ok();
    assert_eq!(said, "calendar up to 2031-05-04 written to due.ics, 0 entries\n");
    let file = fs::read_to_string(bench.folder().join("due.ics")).unwrap();
    assert!(read(&file).1.is_empty());
    let said = bench.on("2031-03-05", "--json due --ics due.ics --days 10").json();
    assert_eq!((&said["calendar"]["to"], &said["calendar"]["entries"]), (&"2031-03-15".into(), &0.into()));
}

#[test]
fn what_is_no_calendar_of_ours_is_not_written_over() {
    let bench = Bench::new();
    let foreign = bench.folder().join("mine.ics");
    let of_others = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//somebody else//EN\r\nEND:VCALENDAR\r\n";
    for there in [of_others, "", "PRODID:-//brimstock//what is due//EN\r\n", "a letter\n"] {
        fs::write(&foreign, there).unwrap();
        bench
            .on("2031-03-05", "due --ics mine.ics")
            .fails(4, &["mine.ics", "no calendar of ours", "nothing was changed"]);
        assert_eq!(fs::read_to_string(&foreign).unwrap(), there);
    }
    bench.on("2031-03-05", "due --ics gone/due.ics").fails(4, &["its folder is not there"]);
    bench
        .on("2031-03-05", "due --ics -")
        .fails(4, &["`-`", "no plain file", ".ics"].map(|word| word.trim_matches('`')));
    bench.on("2031-03-05", "due --ics .").fails(4, &["no plain file"]);
    assert!(!bench.folder().join("-").exists());
}
