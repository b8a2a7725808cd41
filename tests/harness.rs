//! A private register, a cleared environment, and the program run from outside.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;

pub use brimstock::commands::arguments::words;
use serde_json::Value;
use tempfile::TempDir;

/// A folder of its own with a register in it.
pub struct Bench {
    folder: TempDir,
}

/// What a command left behind.
#[must_use = "look at the exit code"]
#[derive(Debug)]
pub struct Ran {
    pub stdout: String,
    pub stderr: String,
    pub code: i32,
}

impl Ran {
    /// The answer of a command that must have said yes.
    #[track_caller]
    pub fn ok(self) -> String {
        assert_eq!(self.code, 0, "{self:?}");
        self.stdout
    }

    /// Asserts an exit code and that each word stands in what was printed to standard error.
    #[track_caller]
    pub fn fails(self, code: i32, words: &[&str]) {
        assert_eq!(self.code, code, "{self:?}");
        assert_eq!(self.stdout, "", "an error prints no answer");
        for word in words {
            assert!(self.stderr.contains(word), "`{word}` is missing: {self:?}");
        }
        assert!(!self.stderr.contains("panicked"), "{self:?}");
    }

    /// The answer as JSON, whatever the exit code.
    #[track_caller]
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.stdout).unwrap_or_else(|error| panic!("{error}: {self:?}"))
    }
}

impl Bench {
    /// A folder without a register.
    pub fn bare() -> Bench {
        Bench { folder: tempfile::tempdir().expect("a temporary folder") }
    }

    /// A register with a dark cupboard at 20 °C since 2030.
    pub fn new() -> Bench {
        let bench = Bench::bare();
        bench.on("2030-01-01", "new").ok();
        bench.on("2030-01-01", "place add cupboard --temp 20 --light dark").ok();
        bench
    }

    /// The register of the demo, played once and copied.
    pub fn demo() -> Bench {
        static PLAYED: OnceLock<Vec<u8>> = OnceLock::new();
        let bench = Bench::bare();
        let path = bench.register();
        let register = PLAYED.get_or_init(|| {
            bench.run(&["demo", "--keep", path.to_str().expect("a path in UTF-8")]).ok();
            std::fs::read(&path).expect("the demo leaves a register")
        });
        std::fs::write(&path, register).expect("a copy of the register");
        bench
    }

    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    pub fn register(&self) -> PathBuf {
        self.folder.path().join("shelf.brimstock")
    }

    /// A command line asked on a day; double quotes keep words together.
    pub fn on(&self, day: &str, line: &str) -> Ran {
        let words = words(line);
        let mut arguments = vec!["--on", day];
        arguments.extend(words.iter().map(String::as_str));
        self.run(&arguments)
    }

    pub fn run(&self, arguments: &[&str]) -> Ran {
        let output = self.command().args(arguments).stdin(Stdio::null()).output().expect("the program runs");
        Ran {
            stdout: String::from_utf8(output.stdout).expect("UTF-8"),
            stderr: String::from_utf8(output.stderr).expect("UTF-8"),
            code: output.status.code().expect("an exit code"),
        }
    }

    /// The program with this bench's register and nothing else of the environment.
    pub fn command(&self) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_brimstock"));
        command
            .env_clear()
            .env("HOME", self.folder())
            .env("BRIMSTOCK_REGISTER", self.register())
            .current_dir(self.folder());
        command
    }
}
