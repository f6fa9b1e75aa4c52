//! How a value is measured or found. Common practice, no source.

/// Returns how the value at `place` is found with what lies on a bench, where there is a way.
pub(super) fn to_measure(place: &str) -> Option<&'static str> {
    let (table, name) = place.rsplit_once('.').unwrap_or(("", place));
    if ["input", "tolerances", "buffer"].contains(&table) {
        return None;
    }
    Some(match name {
        "resistance" => {
            "Unplug the guitar. Meter on ohms across this coil's two leads, unsoldered from everything else."
        }
        "inductance" => "An LCR meter at 1 kHz in series mode, across the coil's two leads, unsoldered.",
        "pot" => {
            "Unplug the guitar. Meter on ohms across the pot's two outer lugs, with one of them unsoldered."
        }
        "capacitor" => {
            "It is printed on the part: 223 is 22n, 473 is 47n; a meter with a capacitance range reads it unsoldered."
        }
        "length" => "Measure the cable from plug to plug.",
        "total" => {
            "A meter with a capacitance range reads it from tip to sleeve, with nothing plugged in at the other end."
        }
        "from_bridge" => "A ruler from the saddle to the middle of the pickup, along the strings.",
        "spacing" => "A ruler between the middles of the two rows of poles.",
        "scale" => "A ruler from the nut to the twelfth fret, times two.",
        "top_pole" => "A compass held over the poles: the needle's end that turns to them is the other pole.",
        "winding" => "The tap test in `leads` tells it together with the compass.",
        _ => return None,
    })
}
