//! How a sound card is joined with what it measures.

use drywire::impedance::Device;
use maud::{Markup, html};

/// The heights of the output's line, the tip's and the sleeve's.
const OUT: u32 = 40;
const TIP: u32 = 96;
const SLEEVE: u32 = 142;
/// Where the card ends, and where the cable does.
const CARD: u32 = 92;
const END: u32 = 268;

/// Returns the drawing of a sound card with `device` across its cable's end.
pub(crate) fn connection(device: Device) -> Markup {
    let words = format!(
        "The sound card’s output goes through the series resistor to the tip of its input, whose cable has its other end free; {}",
        device.words()
    );
    html! {
        svg.schematic.connection viewBox="0 0 366 172" role="img" aria-label=(words) {
            rect.part x="4" y="14" width=(CARD - 4) height="146" rx="8" {}
            text x=(CARD / 2) y="74" text-anchor="middle" { "sound card" }
            text x=(CARD - 8) y=(OUT + 4) text-anchor="end" { "output" }
            text x=(CARD - 8) y=(TIP + 4) text-anchor="end" { "input" }
            path d={ "M" (CARD) " " (OUT) "H128M196 " (OUT) "H222V" (TIP) "M" (CARD) " " (TIP) "H" (END) "M" (CARD) " " (SLEEVE) "H" (END) } {}
            rect.part x="128" y=(OUT - 9) width="68" height="18" {}
            text x="162" y=(OUT - 16) text-anchor="middle" { "series resistor" }
            circle.dot cx="222" cy=(TIP) r="3.5" {}
            text.small x="104" y=(TIP - 7) { "tip" }
            text.small x="104" y=(SLEEVE - 7) { "sleeve" }
            circle.ring cx=(END) cy=(TIP) r="4" {}
            circle.ring cx=(END) cy=(SLEEVE) r="4" {}
            @match device {
                Device::Open => text x=(END + 14) y=(u32::midpoint(TIP, SLEEVE) + 4) { "nothing" },
                Device::Known => {
                    path d={ "M" (END + 4) " " (TIP) "H302V103M302 135V" (SLEEVE) "H" (END + 4) } {}
                    rect.part x="293" y="103" width="18" height="32" {}
                    text x="317" y="116" { "known" }
                    text x="317" y="131" { "10 kΩ" }
                }
                Device::Guitar => {
                    path d={ "M" (END + 4) " " (TIP) "H300M" (END + 4) " " (SLEEVE) "H300" } {}
                    rect.part x="300" y="72" width="60" height="86" rx="8" {}
                    path d="M330 90c12 0 12 12 0 12c12 0 12 12 0 12c12 0 12 12 0 12" {}
                    text x="330" y="150" text-anchor="middle" { "guitar" }
                }
            }
        }
    }
}
