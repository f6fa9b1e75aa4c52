//! Where the probes go: a pickup's leads in a row, a meter, and its probes on two of them.

use drywire::leads::{Bobbin, Fields, Readings, Word};
use maud::{Markup, html};

/// The distance between two leads.
const ROW: usize = 30;
/// Where leads end.
const END: usize = 220;
/// The drawing's own width.
const WIDTH: usize = 440;
/// Where the meter stands.
const METER: usize = 330;

/// Returns the drawing of a reading to be taken.
pub(crate) fn probes(readings: &Readings, fields: &Fields) -> Markup {
    let leads: Vec<&str> = readings.leads().iter().chain(readings.shield()).map(Word::as_str).collect();
    let coils: Vec<&str> = Bobbin::BOTH.iter().filter_map(|bobbin| readings.bobbin_name(*bobbin)).collect();
    let at = |name: &str| leads.iter().position(|lead| *lead == name).map(|row| row * ROW + 36);
    let height = (leads.len() * ROW + 40).max(120);
    let middle = height / 2;
    let (on, coil, meter) = match fields {
        Fields::Ohms { between: [one, other], .. } => ([Some(one), Some(other)], None, Some("Ω")),
        Fields::Tap { coil, red, black, .. } => ([Some(red), Some(black)], coil.as_deref(), Some("DC mV")),
        Fields::Compass { coil, .. } => ([None, None], coil.as_deref(), None),
        Fields::Undo { between: [one, other] } => ([Some(one), Some(other)], None, None),
    };
    let steel = if meter.is_some() { "steel here" } else { "compass here" };
    let words = format!(
        "The pickup with its leads {}; {}",
        leads.join(", "),
        match (&on, coil) {
            ([Some(one), Some(other)], Some(coil)) =>
                format!("the red probe on {one}, the black probe on {other}, steel to the coil {coil}"),
            ([Some(one), Some(other)], None) => format!("one probe on {one}, the other on {other}"),
            (_, coil) => format!("a compass over the coil {}", coil.unwrap_or_default()),
        }
    );
    html! {
        div.probed {
            svg.schematic.probes viewBox={ "0 0 " (WIDTH) " " (height) } width=(WIDTH) role="img" aria-label=(words) {
                rect.part x="8" y="12" width="96" height=(height - 24) rx="8" {}
                @for (i, name) in coils.iter().enumerate() {
                    @let top = 22 + i * (height - 44) / coils.len();
                    @let is_touched = Some(*name) == coil;
                    rect.part.chosen[is_touched] x="18" y=(top) width="76" height=((height - 44) / coils.len() - 8) rx="6" {}
                    text x="56" y=(top + (height - 44) / coils.len() / 2) text-anchor="middle" { (name) }
                    @if is_touched { text.small x="56" y=(top + (height - 44) / coils.len() / 2 + 15) text-anchor="middle" { (steel) } }
                }
                @for name in &leads {
                    @if let Some(y) = at(name) {
                        @let is_read = on.iter().flatten().any(|own| own == name);
                        path.idle[!is_read] d={ "M104 " (y) "H" (END) } {}
                        circle.ring cx=(END) cy=(y) r="4" {}
                        text x="112" y=(y - 5) { (name) }
                    }
                }
                @if let Some(meter) = meter {
                    rect.part x=(METER) y=(middle - 30) width="104" height="60" rx="8" {}
                    text x=(METER + 52) y=(middle + 5) text-anchor="middle" { (meter) }
                    @for (probe, (label, leaves)) in on.iter().zip([("red", middle - 14), ("black", middle + 14)]) {
                        @if let Some(y) = probe.and_then(|name| at(name)) {
                            path.probe d={ "M" (END + 4) " " (y) "L" (END + 44) " " (y) "L" (METER - 34) " " (leaves) "H" (METER) } {}
                            text.small x=(END + 10) y=(y - 6) { (label) }
                        }
                    }
                } @else if let [Some(one), Some(other)] = on {
                    @if let (Some(one), Some(other)) = (at(one), at(other)) {
                        path.probe d={ "M" (END + 4) " " (one) "H" (END + 30) "V" (other) "H" (END + 4) } {}
                        text x=(END + 40) y=(usize::midpoint(one, other) + 4) { "unsolder" }
                    }
                }
            }
        }
    }
}
