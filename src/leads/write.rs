//! Readings written as a readings file.

use super::reading::{Bobbin, Reading, pole_name};
use super::readings::{Entry, Readings};
use super::word::Word;

impl Readings {
    /// Returns a readings file that [`Readings::read`] reads back to the same leads, coils and readings.
    pub fn to_toml(&self) -> String {
        let mut blocks = vec![self.pickup()];
        blocks.extend(self.entries.iter().map(|entry| self.reading(&entry.reading)));
        blocks.extend(self.charts.iter().map(|chart| {
            format!("[[chart]]\nstart = {}\nfinish = {}\n", quoted(&chart.start), quoted(&chart.finish))
        }));
        blocks.join("\n")
    }

    /// Returns the block of a readings file that states the reading at `index`, counted from 0; empty where there is none.
    pub fn block(&self, index: usize) -> String {
        self.entries.get(index).map(|entry| self.reading(&entry.reading)).unwrap_or_default()
    }

    /// Returns the place in a readings file, as in `tap[1]`, of the reading at `index`, counted from 0.
    pub fn place(&self, index: usize) -> Option<String> {
        let kind = |entry: &Entry| match entry.reading {
            Reading::Ohms { .. } => "ohms",
            Reading::Tap { .. } => "tap",
            Reading::Compass { .. } => "compass",
        };
        let own = kind(self.entries.get(index)?);
        let before = self.entries[..index].iter().filter(|entry| kind(entry) == own).count();
        Some(format!("{own}[{before}]"))
    }

    fn pickup(&self) -> String {
        let shield = self.shield.as_ref().map(|s| format!("shield = {}\n", quoted(s.as_str())));
        let all_named = self.one_coil || self.bobbins.len() == Bobbin::BOTH.len();
        let coils = all_named.then(|| format!("coils = [{}]\n", list(&self.bobbins)));
        let leads = list(&self.leads);
        format!("leads = [{leads}]\n{}{}", shield.unwrap_or_default(), coils.unwrap_or_default())
    }

    fn reading(&self, reading: &Reading) -> String {
        let coil_name = |coil: Bobbin| quoted(self.bobbin_name(coil).unwrap_or_default());
        match reading {
            Reading::Ohms { between, reads } => {
                let [one, other] = between.map(|c| quoted(self.name(c)));
                format!("[[ohms]]\nbetween = [{one}, {other}]\nreads = \"{reads}\"\n")
            }
            Reading::Tap { coil, red, black, swing } => {
                let [red, black] = [*red, *black].map(|c| quoted(self.name(c)));
                let (coil, swing) = (coil_name(*coil), swing.name());
                format!("[[tap]]\ncoil = {coil}\nred = {red}\nblack = {black}\nswing = \"{swing}\"\n")
            }
            Reading::Compass { coil, top_pole } => {
                let pole = pole_name(*top_pole);
                format!("[[compass]]\ncoil = {}\ntop_pole = \"{pole}\"\n", coil_name(*coil))
            }
        }
    }
}

fn list(words: &[Word]) -> String {
    words.iter().map(|word| quoted(word.as_str())).collect::<Vec<_>>().join(", ")
}

/// Returns a TOML basic string; names hold no control characters, so two characters need a backslash.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;

    #[test]
    fn what_is_written_is_read_back_the_same() {
        let text = "leads = [\"white\", \"gr\\\\ey\\\"\"]\nshield = \"bare\"\ncoils = [\"near\", \"far\"]\n\
                    [[ohms]]\nbetween = [\"white\", \"bare\"]\nreads = \"5k9\"\n\
                    [[tap]]\ncoil = \"far\"\nred = \"white\"\nblack = \"gr\\\\ey\\\"\"\nswing = \"none\"\n\
                    [[compass]]\ncoil = \"near\"\ntop_pole = \"south\"\n\
                    [[chart]]\nstart = \"white\"\nfinish = \"bare\"\n";
        let read = |text: &str| Readings::read(&Document::new("x", text)).expect("a readings file");
        let once = read(text).to_toml();
        let readings = read(&once);
        assert_eq!(readings.to_toml(), once);
        assert_eq!(readings.name(readings.conductor("gr\\ey\"").expect("a lead")), "gr\\ey\"");
        assert_eq!((readings.entries().len(), readings.charts.len()), (3, 1));
    }
}
