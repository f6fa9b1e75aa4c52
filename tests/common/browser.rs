//! A browser without a window: pages opened in it, and driven.
#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a test that is skipped says why, a driver what it found"
)]

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Mutex;

use serde_json::Value;

use super::devtools::DevTools;

/// Browsers that run and have nothing to do. Each test takes one and gives it back, so that no more are started than
/// tests run at once; they end with the tests.
static IDLE: Mutex<Vec<DevTools>> = Mutex::new(Vec::new());

/// A browser without a window.
pub struct Browser(PathBuf);

impl Browser {
    /// Returns the browser that is installed. Where there is none, says so and returns nothing; in continuous
    /// integration, which installs one, that fails.
    pub fn installed() -> Option<Self> {
        let folders = std::env::var_os("PATH").unwrap_or_default();
        let found = std::env::split_paths(&folders).map(|f| f.join("chromium")).find(|p| p.is_file());
        if found.is_none() {
            assert!(std::env::var_os("CI").is_none(), "no `chromium` on the path");
            println!("skipped: there is no `chromium` on the path to open a page in");
        }
        found.map(Self)
    }

    /// Returns whether there is a browser and what drives it. Where there is not, says so; in continuous integration,
    /// which installs both, that fails.
    pub fn can_be_driven() -> bool {
        let installed =
            Path::new("tests/browser/node_modules/playwright-core").is_dir() && node_is_installed();
        if !installed {
            assert!(std::env::var_os("CI").is_none(), "`npm install` was not run in tests/browser");
            println!("skipped: `npm install` was not run in tests/browser");
        }
        installed && Self::installed().is_some()
    }

    /// Drives the pages in `folder` by a script of `tests/browser`, and expects it to find nothing wrong.
    pub fn drive(script: &str, folder: &Path) {
        let script = Path::new("tests/browser").join(script);
        let driven = Command::new("node")
            .arg(script)
            .arg(folder)
            .env("DRYWIRE", env!("CARGO_BIN_EXE_drywire"))
            .output()
            .unwrap();
        print!("{}", String::from_utf8_lossy(&driven.stdout));
        eprint!("{}", String::from_utf8_lossy(&driven.stderr));
        assert!(driven.status.success());
    }

    /// Opens `page` with `check` as its question and returns what it writes about itself.
    pub fn check(&self, page: &Path, check: &Value) -> Value {
        let hash = format!("#check={}", uri_component(&check.to_string()));
        let checked = self.opened(page, &hash, CHECKED);
        serde_json::from_str(checked.as_str().unwrap()).unwrap()
    }

    /// Opens `page` and returns its document.
    pub fn dom(&self, page: &Path, hash: &str) -> String {
        let dom = self.opened(page, hash, "document.documentElement.outerHTML");
        dom.as_str().unwrap().to_owned()
    }

    /// Opens `page` and returns what a script comes to in it. A browser in which that fails is not used again.
    fn opened(&self, page: &Path, hash: &str, script: &str) -> Value {
        let idle = IDLE.lock().unwrap().pop();
        let mut browser = idle.unwrap_or_else(|| DevTools::start(&self.0));
        browser.open(&format!("file://{}{hash}", page.canonicalize().unwrap().display()));
        let told = browser.evaluate(script);
        IDLE.lock().unwrap().push(browser);
        told
    }
}

/// Waits for what a page writes about itself, and tells what it complains of where nothing comes.
const CHECKED: &str = "(async () => {
    const found = (id) => document.getElementById(id)?.textContent;
    for (const until = Date.now() + 120000; found('checked') === undefined;) {
        if (Date.now() > until) throw new Error(`the page gave no answer: ${found('trouble')}`);
        await new Promise((resume) => setTimeout(resume, 10));
    }
    return found('checked');
})()";

/// Returns whether there is something to run scripts with. Where there is not, says so; in continuous integration,
/// which installs it, that fails.
pub fn node_is_installed() -> bool {
    let installed = Command::new("node").arg("--version").output().is_ok_and(|o| o.status.success());
    if !installed {
        assert!(std::env::var_os("CI").is_none(), "no `node` on the path");
        println!("skipped: there is no `node` on the path to run scripts with");
    }
    installed
}

fn uri_component(text: &str) -> String {
    text.bytes()
        .map(|b| if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") })
        .collect()
}
