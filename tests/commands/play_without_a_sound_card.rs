//! Where the program was built without the sound card, `play` and `blind` say so and offer the page; what is wrong with
//! the set or the names is told all the same.

#![cfg(not(feature = "sound-card"))]
#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use crate::common::program::drywire;
use crate::common::stored::{sine, write_set};

#[test]
fn what_is_left_out_is_said_and_the_page_is_offered() {
    let folder = tempfile::tempdir().unwrap();
    let set = folder.path().join("set");
    std::fs::create_dir(&set).unwrap();
    let take = || [vec![sine(4000, 8000, 440.0, 0.5)], vec![sine(4000, 8000, 440.0, 0.4)]];
    write_set(&set, 8000, &[("series", take()), ("parallel", take())]);
    std::fs::write(set.join("listen.html"), "").unwrap();
    let cases: [(&[&str], &str); 6] = [
        (&["play", "set"], "open `set/listen.html` in a browser"),
        (&["blind", "set"], "open `set/listen.html` in a browser"),
        (&["play", "--list-devices"], "built without one"),
        (&["play", "nowhere"], "there is no such folder"),
        (&["play", "set", "--start", "split"], "no arrangement `split`"),
        (&["blind", "set", "--a", "split"], "no arrangement `split`"),
    ];
    for (arguments, said) in cases {
        let output = drywire(folder.path(), arguments);
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {told}");
        assert!(
            told.contains(said) && told.contains("hint: "),
            "{arguments:?} does not say `{said}`: {told}"
        );
    }
}
