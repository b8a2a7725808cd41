//! The documents are true: the README's tour is replayed, DEVELOPERS.md names every source file and only those.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::harness::{Bench, words};

#[test]
fn the_tour_of_the_readme_prints_what_it_says() {
    let readme = fs::read_to_string("README.md").unwrap();
    let bench = Bench::bare();
    fs::create_dir(bench.folder().join("demo")).unwrap();
    fs::copy("demo/list.csv", bench.folder().join("demo/list.csv")).unwrap();
    let mut commands = 0;
    for block in readme.split("```console\n").skip(1) {
        let block = block.split("```").next().unwrap();
        for part in block.split("$ brimstock ").skip(1) {
            let (line, expected) = part.split_once('\n').unwrap();
            let words = words(line);
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            let ran = bench.run(&words);
            assert_eq!(ran.stdout.trim_end(), expected.trim_end(), "$ brimstock {line}\n{}", ran.stderr);
            commands += 1;
        }
    }
    assert!(commands >= 8, "{commands} commands in the tour");
}

#[test]
fn the_guide_names_every_source_file_and_no_other() {
    let guide = fs::read_to_string("DEVELOPERS.md").unwrap();
    let named: BTreeSet<String> =
        guide.split('`').filter(|word| word.starts_with("src/") && word.ends_with(".rs")).map(str::to_owned).collect();
    let mut there = BTreeSet::new();
    collect(Path::new("src"), &mut there);
    assert_eq!(named, there);
}

fn collect(folder: &Path, files: &mut BTreeSet<String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(&path, files);
        } else if path.extension().is_some_and(|end| end == "rs") {
            files.insert(path.to_string_lossy().into_owned());
        }
    }
}
