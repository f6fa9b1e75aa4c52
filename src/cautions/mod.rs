//! What must be said wherever a person is told to touch a guitar, a meter, an iron or a volume knob.

/// Before anything touches the guitar.
pub const UNPLUG: &str =
    "Unplug the guitar from the amplifier before a meter or an iron touches it; take out any battery.";
/// What is never the job of this program's user.
pub const AMPLIFIER: &str =
    "Never open an amplifier: it holds a lethal charge after it is unplugged. That is licensed work.";
/// What stays connected.
pub const GROUND: &str = "Never cut the bridge-ground or shield connection.";
/// The iron.
pub const IRON: &str =
    "The iron burns and its fumes harm: ventilate, wear eye protection, set the iron in its stand.";
/// Whose word counts.
pub const LOCAL: &str = "Local codes and the judgement of a licensed technician come first.";

/// What a meter at the jack cannot read through.
pub const PASSIVE: &str =
    "Batteries and active electronics make these readings worthless: passive guitars only.";

/// The cautions for work at the bench, the most urgent first.
pub const BENCH: [&str; 5] = [UNPLUG, AMPLIFIER, GROUND, IRON, LOCAL];

/// Where sound is played.
pub const EARS: &str = "Start playback low: levels are set by gain alone, there is no limiter, and a resonant rise can \
                        surprise. Mind your daily sound dose.";

/// Where sound is heard behind the generic amplifier.
pub const DRIVEN: &str = "It is one generic amplifier and its loudspeaker, and says nothing of yours but the direction: one that clips \
                          harder behaves like this one turned up some 5 dB. A driven sound is denser and louder at the same peak: \
                          start low.";

/// Where a sweep is played into a guitar.
pub const SWEEP: &str = "Take headphones off, and unplug them and every loudspeaker, before a sweep is played: it is loud and \
                         rises beyond what is heard. No amplifier is connected meanwhile.";
