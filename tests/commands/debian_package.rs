//! The Debian package, made by one command, holds all that the program is installed with; installed in a clean root, it starts.

#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used, reason = "a test stops where the package is not as expected")]
#![allow(clippy::print_stdout, reason = "a test that is skipped says why")]

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::common::panel::Panel;

fn said(command: &mut Command) -> String {
    let output = command.output().unwrap();
    assert!(output.status.success(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn the_package_is_installed_in_a_clean_root_and_starts() {
    if Command::new("dpkg-deb").arg("--version").output().is_err() {
        assert!(std::env::var_os("CI").is_none(), "no `dpkg-deb` on the path");
        println!("skipped: there is no `dpkg-deb` on the path");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join(".ci/package");
    said(Command::new(script).args(["--binary", env!("CARGO_BIN_EXE_drywire")]).arg(folder.path()));
    let packages: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().path()).collect();
    let [package] = packages.as_slice() else { panic!("{packages:?}") };
    let root = folder.path().join("root");
    fs::create_dir(&root).unwrap();
    let option = format!("--root={}", root.display());
    // What it needs is not in the clean root.
    said(
        Command::new("dpkg")
            .args([&option, "--force-not-root", "--force-depends", "--log=/dev/null", "-i"])
            .arg(package),
    );

    let share = root.join("usr/share");
    for file in [
        "applications/drywire.desktop",
        "icons/hicolor/scalable/apps/drywire.svg",
        "man/man1/drywire.1.gz",
        "man/man1/drywire-hear.1.gz",
        "bash-completion/completions/drywire",
        "zsh/vendor-completions/_drywire",
        "fish/vendor_completions.d/drywire.fish",
        "doc/drywire/copyright",
        "doc/drywire/changelog.gz",
        "doc/drywire/LICENSE-MIT",
        "doc/drywire/LICENSE-APACHE",
        "doc/drywire/LICENSE-typeface",
    ] {
        assert!(fs::metadata(share.join(file)).is_ok_and(|file| file.len() > 0), "{file}");
    }
    let entry = fs::read_to_string(share.join("applications/drywire.desktop")).unwrap();
    assert!(entry.contains("\nExec=drywire panel\n") && entry.contains("\nIcon=drywire\n"), "{entry}");
    let libraries = said(Command::new("gzip").arg("-dc").arg(share.join("doc/drywire/libraries.gz")));
    for library in ["axum v", "rustfft v", "toml v"] {
        assert!(libraries.lines().any(|line| line.starts_with(library) && line.contains("MIT")), "{library}");
    }
    assert!(libraries.contains("Permission is hereby granted"), "the texts themselves");
    let control = said(Command::new("dpkg-deb").arg("-f").arg(package));
    assert!(control.contains(&format!("\nVersion: {}\n", env!("CARGO_PKG_VERSION"))), "{control}");
    assert!(control.contains("\nDepends: libc6 (>= 2."), "{control}");

    let program = root.join("usr/bin/drywire");
    assert_eq!(
        said(Command::new(&program).arg("--version")).trim(),
        concat!("drywire ", env!("CARGO_PKG_VERSION"))
    );
    let mut command = Command::new(&program);
    let panel = Panel::start_by(command.args(["panel", "--no-open"]).arg(folder.path().join("guitars")));
    assert_eq!(panel.enter().get("").status, 200);
}
