//! What is still worth reading once every lead is certain: what the coils' health and the hum want.

use super::next::{Step, is_taken};
use super::reading::Bobbin;
use super::readings::Readings;
use super::report::{Verdict, analyse};
use super::words::Told;

/// Returns the reading that a pickup's health, its file and the hum still want where every lead is certain: each coil's ohms, a
/// lead of each coil against the shield, and the poles; nothing where all were taken, or the leads are not certain.
pub fn further(readings: &Readings) -> Option<Told> {
    further_step(readings, &[]).map(|step| readings.tell_step(step))
}

/// Returns the same without those of `skipped`.
pub(super) fn further_step(readings: &Readings, skipped: &[Step]) -> Option<Step> {
    let report = analyse(readings, &[]).report;
    if report.verdict != Verdict::Certain {
        return None;
    }
    let find = |name: &Option<String>| name.as_deref().and_then(|n| readings.conductor(n).ok());
    let shield = readings.shield().and_then(|s| readings.conductor(s.as_str()).ok());
    let coils = report.coils.iter().filter_map(|coil| find(&coil.plus).zip(find(&coil.minus)));
    let (ohms, shields): (Vec<Step>, Vec<Option<Step>>) = coils
        .map(|(plus, minus)| {
            let apart = shield.filter(|shield| ![plus, minus].contains(shield));
            let to_shield = apart.map(|shield| Step::Ohms { between: [plus, shield] });
            (Step::Ohms { between: [plus, minus] }, to_shield)
        })
        .unzip();
    let named = |coil: &Step| matches!(coil, Step::Compass { coil } if readings.bobbin_name(*coil).is_some());
    let compass = Bobbin::BOTH.into_iter().map(|coil| Step::Compass { coil }).filter(named);
    let mut steps = ohms.into_iter().chain(shields.into_iter().flatten()).chain(compass);
    steps.find(|step| !is_taken(readings, *step) && !skipped.contains(step))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;

    #[test]
    fn what_a_certain_pickup_still_wants_is_each_coils_ohms_then_the_shield_and_the_poles() {
        let text = "leads = [\"white\", \"grey\", \"red\", \"blue\"]\nshield = \"bare\"\n\
            [[ohms]]\nbetween = [\"white\", \"grey\"]\nreads = \"open\"\n\
            [[ohms]]\nbetween = [\"white\", \"red\"]\nreads = \"open\"\n\
            [[tap]]\ncoil = \"near\"\nred = \"white\"\nblack = \"blue\"\nswing = \"+\"\n\
            [[tap]]\ncoil = \"far\"\nred = \"grey\"\nblack = \"red\"\nswing = \"+\"\n";
        let read = |text: &str| Readings::read(&Document::new("readings.toml", text)).expect("readings");
        let wants = |text: &str| further(&read(text)).map(|told| told.words);
        let ohms = |one: &str, other: &str| {
            format!("\n[[ohms]]\nbetween = [\"{one}\", \"{other}\"]\nreads = \"3.6k\"\n")
        };
        let first = wants(text).expect("the ohms of the first coil");
        assert!(
            first.contains("white wire") && first.contains("blue wire") && first.contains("ohms"),
            "{first}"
        );
        let text = text.to_owned() + &ohms("white", "blue");
        let other = wants(&text).expect("the ohms of the other coil");
        assert!(other.contains("grey wire") && other.contains("red wire"), "{other}");
        let text = text + &ohms("grey", "red");
        let then = wants(&text).expect("a lead against the shield");
        assert!(then.contains("bare"), "{then}");
        assert_eq!(wants("leads = [\"white\", \"grey\"]\n"), None, "nothing is certain yet");
    }
}
