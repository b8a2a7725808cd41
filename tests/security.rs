//! What the program must not be able to do, and what the files that it makes let others do.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::layers::all_sources;

/// Words that reach for a shell, another program, the network, or memory past the compiler's rules.
const FORBIDDEN: [&str; 13] = [
    "process::Command",
    "Command::new",
    "CommandExt",
    "std::net",
    "TcpStream",
    "UdpSocket",
    "os::unix::net",
    "UnixStream",
    "unsafe {",
    "unsafe fn",
    "unsafe impl",
    "extern \"C\"",
    "allow(unsafe_code",
];

/// What stands in a source file beyond its comments, with its place.
fn forbidden(path: &str, text: &str) -> Vec<String> {
    let lines = text.lines().enumerate().filter(|(_, line)| !line.trim_start().starts_with("//"));
    lines
        .flat_map(|(number, line)| {
            let met = FORBIDDEN.iter().filter(|word| line.contains(**word));
            met.map(move |word| format!("src/{path}:{}: `{word}`: {}", number + 1, line.trim()))
        })
        .collect()
}

#[test]
fn no_shell_no_network_no_unsafe() {
    let found: Vec<String> = all_sources().iter().flat_map(|(path, text)| forbidden(path, text)).collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
    for line in ["std::process::Command::new(\"sh\")", "use std::net::TcpStream;", "unsafe { *there }"] {
        assert!(!forbidden("main.rs", line).is_empty(), "{line}");
    }
    assert!(forbidden("main.rs", "// no unsafe { } here").is_empty());
}

fn repository() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

#[test]
fn the_compiler_forbids_unsafe_in_library_program_and_build_script() {
    // Cargo hands the lints of the package to each of its targets, the build script's too; `forbid` cannot be lifted inside.
    let manifest: toml::Table = fs::read_to_string(repository().join("Cargo.toml")).unwrap().parse().unwrap();
    assert_eq!(manifest["lints"]["rust"]["unsafe_code"].as_str(), Some("forbid"));
    assert_eq!(manifest["package"]["build"].as_str(), Some("src/build.rs"), "the one build script is a source of ours");
    let own: BTreeSet<&str> = ["lib", "bin"].into_iter().collect();
    for target in own {
        let path = match &manifest[target] {
            toml::Value::Array(several) => several[0]["path"].as_str(),
            one => one["path"].as_str(),
        };
        assert!(path.is_some_and(|path| path.starts_with("src/")), "{target}");
    }
}

/// Crates that open connections, or that nothing opens one without.
const NETWORK: [&str; 16] = [
    "async-std",
    "curl",
    "h2",
    "hyper",
    "isahc",
    "mio",
    "native-tls",
    "openssl",
    "quinn",
    "reqwest",
    "rustls",
    "smol",
    "socket2",
    "tokio",
    "tungstenite",
    "ureq",
];

#[test]
fn nothing_that_opens_a_connection_is_taken_in() {
    // The lock file also names what other systems would build; cargo tells what this one does.
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned());
    let mut tree = std::process::Command::new(cargo);
    tree.args(["tree", "--locked", "--offline", "--edges", "normal,build", "--prefix", "none", "--format", "{p}"]);
    let told = tree.current_dir(repository()).output().unwrap();
    let told = String::from_utf8(told.stdout).unwrap();
    let crates: BTreeSet<&str> = told.lines().filter_map(|line| line.split(' ').next()).collect();
    assert!(crates.len() > 50 && crates.contains("rusqlite"), "{told}");
    for name in NETWORK {
        assert!(!crates.contains(name), "{name}");
    }
    let lock: toml::Table = fs::read_to_string(repository().join("Cargo.lock")).unwrap().parse().unwrap();
    for package in lock["package"].as_array().unwrap() {
        let (name, origin) = (package["name"].as_str().unwrap(), package.get("source").and_then(toml::Value::as_str));
        let known = origin == Some("registry+https://github.com/rust-lang/crates.io-index");
        assert!(known || name == "brimstock", "{name} comes from {origin:?}");
    }
}

const SQL: [&str; 10] =
    ["SELECT ", "INSERT ", "UPDATE ", "DELETE ", "PRAGMA ", "CREATE ", "DROP ", "ALTER ", " WHERE ", "ATTACH"];

/// What may be put into SQL by its text: names that stand in our own sources, and whole numbers.
/// Each with what makes sure of that.
const PUT_IN: [(&str, &str); 13] = [
    ("COLUMNS", "a constant"),
    ("APPLICATION_ID", "a constant"),
    ("known", "the number of steps of the schema"),
    ("name", "of a pragma, each written out where it is asked for"),
    ("table", "of `TABLES`, or written out where it is asked for"),
    ("columns", "written out where a row is entered"),
    ("sealed", "all columns, or a constant"),
    ("stock", "the whole number of a stock's row"),
    ("other", "a table's name from `columns.rs`"),
    ("level", "a whole number"),
    ("guard", "a trigger's name, as the schema has it"),
    ("places", "places for values: ?"),
    ("", "places for values: ?1, ?2"),
];

/// What each `format!` with SQL in it puts there that is not known to be harmless.
fn put_into_sql(path: &str, text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (at, _) in text.match_indices("format!(") {
        let rest = &text[at + "format!(".len()..];
        let Some(open) = rest.find('"') else { continue };
        let template = &rest[open + 1..];
        let close = template
            .char_indices()
            .find(|(at, sign)| *sign == '"' && !template[..*at].ends_with('\\'))
            .map_or(template.len(), |(at, _)| at);
        let template = &template[..close];
        if !SQL.iter().any(|word| template.contains(word)) {
            continue;
        }
        for part in template.split('{').skip(1) {
            let put: &str = part.split(['}', ':']).next().unwrap_or_default();
            if !PUT_IN.iter().any(|(known, _)| *known == put) {
                let line = 1 + text[..at].matches('\n').count();
                found.push(format!("src/{path}:{line}: `{put}` goes into SQL by its text: {template}"));
            }
        }
    }
    found
}

/// True if the first argument of a call of this name is always written out, or one of these.
fn argument_is_written_out(text: &str, call: &str, accepted: &[&str]) -> Result<(), String> {
    for (at, _) in text.match_indices(call) {
        let argument = text[at + call.len()..].trim_start();
        if !argument.starts_with('"') && !accepted.iter().any(|word| argument.starts_with(word)) {
            return Err(argument.chars().take(40).collect());
        }
    }
    Ok(())
}

#[test]
fn values_go_into_sql_through_parameters_alone() {
    let sources = all_sources();
    let register = || sources.iter().filter(|(path, _)| path.starts_with("register/"));
    let found: Vec<String> = register().flat_map(|(path, text)| put_into_sql(path, text)).collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
    // No SQL is put together in another way.
    for (path, text) in register() {
        for (number, line) in text.lines().enumerate() {
            let joined = line.contains("push_str") || line.contains(" + ") || line.contains("+=");
            let sql = SQL.iter().any(|word| line.contains(word)) && line.contains('"');
            assert!(!(joined && sql), "src/{path}:{}: {}", number + 1, line.trim());
        }
        for (call, accepted) in [(".pragma(", &[][..]), (".insert(", &["table"]), (".whole(", &["table"])] {
            let written = argument_is_written_out(text, call, accepted);
            // `insert` is the name of what maps and sets do, too: those take no name of a table.
            if let Err(argument) = written {
                assert!(call == ".insert(" && !argument.starts_with('&'), "src/{path}: {call}{argument}");
            }
        }
    }
    assert!(!put_into_sql("x.rs", "format!(\"SELECT * FROM stock WHERE code = '{code}'\")").is_empty());
    assert!(put_into_sql("x.rs", "format!(\"SELECT * FROM {table} ORDER BY id\")").is_empty());
}

#[test]
fn what_looks_like_sql_is_a_value() {
    let bench = crate::harness::Bench::new();
    let day = "2031-03-15";
    let name = "x'); DROP TABLE event; --";
    bench.on(day, &format!("place add \"{name}\" --temp 20 --light dark")).ok();
    bench.on(day, &format!("receive hydrogen-peroxide \"3 % w/v\" 500mL --at \"{name}\"")).ok();
    bench.on(day, "show \"HP-1' OR '1'='1\"").fails(2, &["HP-1' OR"]);
    let places = bench.on(day, "--json place list").json();
    let names: Vec<&str> = places["places"].as_array().unwrap().iter().filter_map(|p| p["name"].as_str()).collect();
    assert!(names.contains(&name), "{names:?}");
    bench.on(day, "verify").ok();
}

#[cfg(unix)]
mod files {
    use std::os::unix::fs::{PermissionsExt, symlink};
    use std::process::Stdio;

    use super::*;
    use crate::harness::{Bench, words};

    const DAY: &str = "2031-03-15";

    /// The program under another mask for new files.
    fn masked(bench: &Bench, mask: &str, line: &str) {
        let mut shell = std::process::Command::new("sh");
        let program = env!("CARGO_BIN_EXE_brimstock");
        shell.args(["-c", &format!("umask {mask}; exec \"$@\""), "sh", program, "--on", DAY]);
        shell.args(words(line)).env_clear().env("HOME", bench.folder()).env("BRIMSTOCK_REGISTER", bench.register());
        let ran = shell.current_dir(bench.folder()).stdin(Stdio::null()).output().unwrap();
        assert!(ran.status.success(), "{line}: {}", String::from_utf8_lossy(&ran.stderr));
    }

    fn mode(path: &Path) -> u32 {
        fs::symlink_metadata(path).unwrap().permissions().mode() & 0o777
    }

    /// Everything under a folder.
    fn under(folder: &Path) -> Vec<PathBuf> {
        let mut found = Vec::new();
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                found.extend(under(&path));
            }
            found.push(path);
        }
        found
    }

    #[test]
    fn what_is_kept_is_for_its_owner_alone_whatever_the_mask() {
        for mask in ["022", "000"] {
            let bench = Bench::bare();
            let sheet = bench.folder().join("sheet.pdf");
            fs::write(&sheet, "%PDF-1.4 a sheet of nothing").unwrap();
            for line in [
                "new",
                "place add cupboard --temp 20 --light dark",
                "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard",
                "sds attach HP-1 sheet.pdf",
                "local set fire 112",
                "backup",
                "backup --to stick",
                "restore shelf.copies/shelf-2031-03-15.brimstock",
            ] {
                masked(&bench, mask, line);
            }
            fs::remove_file(bench.register()).unwrap();
            masked(&bench, mask, "restore shelf.copies/shelf-2031-03-15.brimstock");
            let kept = under(bench.folder());
            assert!(kept.len() >= 10, "{kept:?}");
            for path in kept.iter().filter(|path| **path != sheet) {
                let wanted = if path.is_dir() { 0o700 } else { 0o600 };
                assert_eq!(mode(path), wanted, "{} under umask {mask}", path.display());
            }
            // What is to be printed or handed on is as readable as the system's own mask lets it be.
            masked(&bench, mask, "card bottle HP-1 --out label.pdf");
            masked(&bench, mask, "due --ics due.ics");
            masked(&bench, mask, "check HP-1 --svg hp.svg");
            for name in ["label.pdf", "due.ics", "hp.svg"] {
                let wanted = if mask == "000" { 0o666 } else { 0o644 };
                assert_eq!(mode(&bench.folder().join(name)), wanted, "{name} under umask {mask}");
            }
        }
    }

    /// A shelf with a bottle, and a file outside of it that a link leads to.
    fn with_link(name: &str, outside: &str) -> (Bench, PathBuf) {
        let bench = Bench::new();
        bench.on(DAY, "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard").ok();
        let there = bench.folder().join("elsewhere.txt");
        fs::write(&there, outside).unwrap();
        symlink(&there, bench.folder().join(name)).unwrap();
        (bench, there)
    }

    #[test]
    fn a_link_in_the_place_of_an_answer_is_never_written_through() {
        // A file that may be written over is replaced: the link goes, what it led to stays.
        let (bench, there) = with_link("label.pdf", "mine");
        bench.on(DAY, "card bottle HP-1 --out label.pdf").fails(4, &["is there already"]);
        bench.on(DAY, "card bottle HP-1 --out label.pdf --force").ok();
        assert_eq!(fs::read_to_string(&there).unwrap(), "mine");
        assert!(!fs::symlink_metadata(bench.folder().join("label.pdf")).unwrap().is_symlink());
        let (bench, there) = with_link("hp.svg", "<svg mine");
        bench.on(DAY, "check HP-1 --svg hp.svg").ok();
        assert_eq!(fs::read_to_string(&there).unwrap(), "<svg mine");
        let (bench, there) = with_link("due.ics", "mine");
        bench.on(DAY, "due --ics due.ics").fails(4, &["no calendar of ours"]);
        assert_eq!(fs::read_to_string(&there).unwrap(), "mine");
        // One that leads nowhere makes no file there.
        let bench = Bench::new();
        let nowhere = bench.folder().join("nowhere.txt");
        for (link, line) in [("c.pdf", "card spill --out c.pdf"), ("d.ics", "due --ics d.ics")] {
            symlink(&nowhere, bench.folder().join(link)).unwrap();
            let _ = bench.on(DAY, line);
            assert!(!nowhere.exists(), "{line}");
        }
    }

    #[test]
    fn a_copy_is_never_written_through_a_link() {
        let (bench, there) = with_link("stick", "mine");
        // A name that leads to a file is no folder.
        bench.on(DAY, "backup --to stick").fails(4, &["no copy can be written into stick"]);
        assert_eq!(fs::read_to_string(&there).unwrap(), "mine");
        // A link with the name of the next copy counts as taken, where it leads or not.
        let copies = bench.folder().join("shelf.copies");
        fs::create_dir(&copies).unwrap();
        let taken = copies.join("shelf-2031-03-15.brimstock");
        symlink(&there, &taken).unwrap();
        bench.on(DAY, "backup").ok();
        assert_eq!(fs::read_to_string(&there).unwrap(), "mine");
        assert!(copies.join("shelf-2031-03-15-2.brimstock").is_file());
        fs::remove_file(&taken).unwrap();
        let nowhere = bench.folder().join("nowhere.txt");
        symlink(&nowhere, &taken).unwrap();
        bench.on(DAY, "backup").ok();
        assert!(!nowhere.exists() && fs::symlink_metadata(&taken).unwrap().is_symlink());
    }

    #[test]
    fn a_sheet_is_never_written_through_a_link_and_keeps_no_path() {
        let (bench, there) = with_link("other", "mine");
        let bytes = "%PDF-1.4 a sheet of nothing";
        fs::create_dir(bench.folder().join("sub")).unwrap();
        fs::write(bench.folder().join("sub/sheet.pdf"), bytes).unwrap();
        let sheets = bench.folder().join("shelf.sheets");
        fs::create_dir(&sheets).unwrap();
        let place = sheets.join(format!("{}.pdf", brimstock::commands::sds::digest_of(bytes.as_bytes())));
        symlink(&there, &place).unwrap();
        // The copy is named after what it holds, never after what it was called.
        bench.on(DAY, "sds attach HP-1 sub/../sub/sheet.pdf").ok();
        assert_eq!(fs::read_to_string(&there).unwrap(), "mine");
        assert!(!fs::symlink_metadata(&place).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&place).unwrap(), bytes);
        assert_eq!(fs::read_dir(&sheets).unwrap().count(), 1);
    }

    #[test]
    fn a_new_register_is_never_made_through_a_link() {
        let bench = Bench::bare();
        let nowhere = bench.folder().join("nowhere.txt");
        symlink(&nowhere, bench.register()).unwrap();
        bench.on(DAY, "new").fails(4, &["there is already a file"]);
        assert!(!nowhere.exists());
    }
}
