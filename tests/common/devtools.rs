//! A browser without a window that is asked through its own two pipes, by the Chrome DevTools Protocol: messages of JSON,
//! each with a zero behind it. One after the other, pages are opened in it.

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{ChildStdin, ChildStdout, Command, Stdio};

use serde_json::{Value, json};

/// Starts a browser with the third and fourth descriptors as its pipes and a profile that goes with it.
const START: &str = "profile=$(mktemp -d -p \"$1\"); \"$0\" --headless --no-sandbox --disable-gpu --remote-debugging-pipe \
    --user-data-dir=\"$profile\" 3<&0 4>&1 </dev/null >/dev/null 2>&1; rm -rf \"$profile\"";

/// A browser that runs until its pipes are closed.
pub struct DevTools {
    questions: ChildStdin,
    answers: BufReader<ChildStdout>,
    /// The page's session; empty before there is one.
    session: String,
    asked: u64,
    /// How many documents have been loaded.
    loaded: u64,
}

impl DevTools {
    /// Starts the browser whose program is at `path`.
    #[expect(
        clippy::zombie_processes,
        reason = "it is to run as long as its pipes are held, to the end of all tests"
    )]
    pub fn start(path: &Path) -> Self {
        let mut process = Command::new("sh")
            .args(["-c", START])
            .args([path, Path::new(env!("CARGO_TARGET_TMPDIR"))])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let questions = process.stdin.take().unwrap();
        let answers = BufReader::new(process.stdout.take().unwrap());
        let mut browser = Self { questions, answers, session: String::new(), asked: 0, loaded: 0 };
        let page = browser.ask("Target.createTarget", &json!({ "url": "about:blank" }));
        let attached = json!({ "targetId": page["targetId"], "flatten": true });
        let session = browser.ask("Target.attachToTarget", &attached);
        session["sessionId"].as_str().unwrap().clone_into(&mut browser.session);
        browser.ask("Page.enable", &json!({}));
        browser
    }

    /// Opens the page at `address` and waits until it is loaded.
    pub fn open(&mut self, address: &str) {
        // An address that differs in its fragment alone would not be loaded again.
        for address in ["about:blank", address] {
            let before = self.loaded;
            let opened = self.ask("Page.navigate", &json!({ "url": address }));
            assert!(opened["errorText"].is_null(), "{address}: {opened}");
            while self.loaded == before {
                self.hear();
            }
        }
    }

    /// Returns what a script, or its promise, comes to in the page that is open.
    pub fn evaluate(&mut self, script: &str) -> Value {
        let asked = json!({ "expression": script, "awaitPromise": true, "returnByValue": true });
        let answer = self.ask("Runtime.evaluate", &asked);
        assert!(answer["exceptionDetails"].is_null(), "{}", answer["exceptionDetails"]);
        answer["result"]["value"].clone()
    }

    fn ask(&mut self, method: &str, given: &Value) -> Value {
        self.asked += 1;
        let mut question = json!({ "id": self.asked, "method": method, "params": given });
        if !self.session.is_empty() {
            question["sessionId"] = json!(self.session);
        }
        self.questions.write_all(format!("{question}\0").as_bytes()).unwrap();
        loop {
            let mut answer = self.hear();
            if answer["id"] == self.asked {
                assert!(answer["error"].is_null(), "{method}: {}", answer["error"]);
                return answer["result"].take();
            }
        }
    }

    fn hear(&mut self) -> Value {
        let mut bytes = Vec::new();
        self.answers.read_until(0, &mut bytes).unwrap();
        assert_eq!(bytes.pop(), Some(0), "the browser has ended");
        let message: Value = serde_json::from_slice(&bytes).unwrap();
        self.loaded += u64::from(message["method"] == "Page.loadEventFired");
        message
    }
}
