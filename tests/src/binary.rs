//! The `coxswain` program under test: built once a test run if it is not there in its newest form.

use std::path::PathBuf;
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

/// Path of the program. `COXSWAIN_BIN` names another one, such as a release build.
///
/// # Panics
/// If it cannot be built: no test can go on then.
#[expect(clippy::panic, clippy::expect_used, reason = "without the program there is nothing to test")]
pub fn path() -> PathBuf {
    static PATH: OnceLock<PathBuf> = OnceLock::new();
    PATH.get_or_init(|| {
        if let Some(named) = std::env::var_os("COXSWAIN_BIN") {
            return named.into();
        }
        let manifest = concat!(env!("CARGO_MANIFEST_DIR"), "/../Cargo.toml");
        let built = Command::new(env!("CARGO"))
            .args(["build", "--quiet", "--workspace", "--bins", "--manifest-path", manifest])
            .status()
            .expect("cargo runs");
        assert!(built.success(), "the program cannot be built");
        let here = std::env::current_exe().expect("a test has a path");
        let Some(folder) = here.parent().and_then(|deps| deps.parent()) else {
            panic!("{} has no folder", here.display())
        };
        folder.join("coxswain")
    })
    .clone()
}

/// Runs the program to its end, with `stdin` as its input.
///
/// # Errors
/// If it cannot be started.
pub fn run(args: &[&str], stdin: &[u8]) -> std::io::Result<Output> {
    use std::io::Write;
    let mut child =
        Command::new(path()).args(args).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn()?;
    if let Some(mut input) = child.stdin.take() {
        // A program that refuses its arguments does not read its input; that is no fault of the test.
        drop(input.write_all(stdin));
    }
    child.wait_with_output()
}
