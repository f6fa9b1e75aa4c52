//! How a value is found. Common practice, no source.

/// Returns how the value at `place` is found with what lies on a bench, where there is a way: as it is `measured` with the
/// guitar unplugged, where that is known.
pub(super) fn to_find(place: &str, measured: Option<&str>) -> Option<String> {
    if let Some(how) = measured {
        return Some(format!("With the guitar unplugged: {how}."));
    }
    let (_, name) = place.rsplit_once('.').unwrap_or(("", place));
    let how = match name {
        "from_bridge" => "A ruler from the saddle to the middle of the pickup, along the strings.",
        "spacing" => "A ruler between the middles of the two rows of poles.",
        "level" => "`balance` tells it from two takes of the same playing, one through each pickup alone.",
        "scale" => "A ruler from the nut to the twelfth fret, times two.",
        "top_pole" => "A compass held over the poles: the needle's end that turns to them is the other pole.",
        "winding" => "The tap test in `leads` tells it together with the compass.",
        _ => return None,
    };
    Some(how.to_owned())
}
