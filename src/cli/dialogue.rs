//! Questions put on standard error, each answered by a line of standard input: at a terminal or through a pipe.

use std::io::{BufRead, Read};

use drywire::harness::{GuitarInterview, WireInterview};
use drywire::leads::{Interview, Reply};

use super::wrap::wrapped;
use super::{Console, Failure};

/// The longest answer that is taken, in bytes.
const LONGEST_ANSWER: u64 = 4096;

/// How much further in a sentence goes on in its next line.
const HANGING: &str = "  ";

/// What is asked for question by question.
pub(crate) trait Asking {
    /// Returns the question to put, `None` where there is none left. Its last line is the question itself; lines before it explain.
    fn question(&mut self) -> Option<String>;
    /// Takes one line as the answer to the question.
    fn answer(&mut self, line: &str) -> Reply;
}

impl Asking for Interview {
    fn question(&mut self) -> Option<String> {
        Self::question(self)
    }

    fn answer(&mut self, line: &str) -> Reply {
        Self::answer(self, line)
    }
}

impl Asking for GuitarInterview {
    fn question(&mut self) -> Option<String> {
        Self::question(self)
    }

    fn answer(&mut self, line: &str) -> Reply {
        Self::answer(self, line)
    }
}

impl Asking for WireInterview<'_> {
    fn question(&mut self) -> Option<String> {
        Self::question(self)
    }

    fn answer(&mut self, line: &str) -> Reply {
        Self::answer(self, line)
    }
}

/// Tells what stands `before` the first question, and asks until nothing is left to be asked, the person leaves, or `input` ends.
pub(crate) fn hold(
    console: &mut Console,
    mut input: impl BufRead,
    before: &[&str],
    asking: &mut impl Asking,
) -> Result<(), Failure> {
    for text in before {
        console.note(wrapped(text, "", HANGING));
    }
    while let Some(question) = asking.question() {
        let (explanation, asked) = question.rsplit_once('\n').unwrap_or(("", &question));
        console.note("");
        tell(console, explanation);
        // What is asked stays on one line, so that a program at the other end of a pipe can read it.
        console.note(asked);
        let Some(answer) = next_answer(&mut input)? else { break };
        match asking.answer(&answer) {
            Reply::Taken => {}
            Reply::Over => break,
            Reply::Refused(why) => console.note(format!("not understood: {why}")),
            Reply::Help(text) => tell(console, &text),
        }
    }
    Ok(())
}

/// Writes lines broken to the terminal's width, each as far in as it is.
fn tell(console: &mut Console, text: &str) {
    for line in text.lines() {
        let words = line.trim_start();
        let indent = &line[..line.len() - words.len()];
        console.note(wrapped(words, indent, &format!("{indent}{HANGING}")));
    }
}

/// Returns the next line of `input`, `None` at its end.
fn next_answer(input: &mut impl BufRead) -> Result<Option<String>, Failure> {
    let mut line = Vec::new();
    let read = input.by_ref().take(LONGEST_ANSWER + 1).read_until(b'\n', &mut line);
    let read =
        read.map_err(|e| Failure::input(format!("cannot read the answers: {e}"), "answer by lines of text"))?;
    if line.len() as u64 > LONGEST_ANSWER {
        return Err(Failure::input(
            format!("an answer has more than {LONGEST_ANSWER} bytes"),
            "answer each question with one short line",
        ));
    }
    Ok((read > 0).then(|| String::from_utf8_lossy(&line).into_owned()))
}
