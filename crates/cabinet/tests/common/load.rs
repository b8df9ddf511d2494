//! The program `load` of the examples, as a child process.
#![allow(dead_code, reason = "each test file uses its part")]

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;

/// Where it lies; built first if a test was asked for by itself.
pub fn program() -> &'static Path {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(|| {
        let test = std::env::current_exe().expect("this test's own file");
        let profile = test.parent().and_then(Path::parent).expect("the folder of the profile");
        let program = profile.join("examples").join(format!("load{}", std::env::consts::EXE_SUFFIX));
        let mut build = Command::new(env!("CARGO"));
        build.args(["build", "-q", "-p", "cabinet", "--example", "load"]).current_dir(env!("CARGO_MANIFEST_DIR"));
        // Beside this test, wherever that was built.
        build.env("CARGO_TARGET_DIR", profile.parent().expect("the folder of what is built"));
        if profile.ends_with("release") {
            build.arg("--release");
        }
        assert!(build.status().expect("cargo").success(), "the example `load` does not build");
        assert!(program.is_file(), "no program at {}", program.display());
        program
    })
}

/// The child, its output piped.
pub fn load(folder: &Path, what: &str) -> Command {
    let mut command = Command::new(program());
    command.arg(folder).arg(what).stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}
