//! What is wrong with a wiring.

use serde::Serialize;

/// The kinds of faults.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FaultKind {
    /// Silent, with hot joined to the sleeve.
    Short,
    /// Silent otherwise.
    Dead,
    /// A coil that should be heard is not.
    Missing,
    /// A coil that should not be heard is.
    Extra,
    /// A coil works against others that it should work with.
    OutOfPhase,
    /// A volume knob is loud at 0.
    VolumeBackwards,
    /// A volume knob does nothing.
    VolumeNoEffect,
    /// A volume knob takes other pickups down, and should not.
    VolumeDependent,
    /// A volume knob leaves other pickups, and should not.
    VolumeIndependent,
    /// A tone knob is dark at 10.
    ToneBackwards,
    /// A tone knob does nothing.
    ToneNoEffect,
    /// A tone knob takes the level down.
    ToneAsVolume,
    /// Metal is joined to nothing.
    Ungrounded,
    /// Metal is on the tip.
    MetalOnHot,
    /// Tip and sleeve are exchanged.
    JackSwapped,
    /// A coil hangs on hot.
    Hanging,
    /// The battery is never off.
    BatteryAlwaysOn,
    /// The buffer has no power.
    NoPower,
    /// Another circuit, told by what takes part.
    Differs,
}

/// A fault of a wiring.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WiringFault {
    /// Its kind.
    pub kind: FaultKind,
    /// The part, coils or terminal that it is about; empty where it is about none.
    pub what: String,
    /// The states in which it shows; empty where it does not depend on them.
    pub positions: Vec<String>,
    /// The same in a sentence.
    pub words: String,
}

/// What is found of a wiring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Checked {
    /// Whether it is the circuit that the guitar's file asks for, in every state.
    pub same_circuit: bool,
    /// Every fault.
    pub faults: Vec<WiringFault>,
    /// How many joints are missing, where nothing that is there is wrong: then the faults are what comes of that.
    pub joints_missing: Option<usize>,
    /// The states without sound with every knob at 10, whatever the cause.
    pub silent: Vec<String>,
    /// What is no fault and worth a word.
    pub notes: Vec<String>,
    /// Each state with what a meter reads at the jack, every knob at 10 and nothing plugged in; nothing where it is open.
    pub ohms_at_jack: Vec<(String, Option<f64>)>,
}

impl FaultKind {
    /// Returns whether nothing is heard for it, so that other faults there are not found.
    fn is_silence(self) -> bool {
        match self {
            Self::Short | Self::Dead | Self::NoPower => true,
            Self::Missing
            | Self::Extra
            | Self::OutOfPhase
            | Self::VolumeBackwards
            | Self::VolumeNoEffect
            | Self::VolumeDependent
            | Self::VolumeIndependent
            | Self::ToneBackwards
            | Self::ToneNoEffect
            | Self::ToneAsVolume
            | Self::Ungrounded
            | Self::MetalOnHot
            | Self::JackSwapped
            | Self::Hanging
            | Self::BatteryAlwaysOn
            | Self::Differs => false,
        }
    }

    /// Returns whether such a fault says what is wrong with the circuit.
    pub(super) fn is_of_the_circuit(self) -> bool {
        match self {
            Self::Short
            | Self::Dead
            | Self::Missing
            | Self::Extra
            | Self::OutOfPhase
            | Self::VolumeBackwards
            | Self::VolumeNoEffect
            | Self::VolumeDependent
            | Self::VolumeIndependent
            | Self::ToneBackwards
            | Self::ToneNoEffect
            | Self::ToneAsVolume
            | Self::NoPower
            | Self::Differs => true,
            Self::Ungrounded
            | Self::MetalOnHot
            | Self::JackSwapped
            | Self::Hanging
            | Self::BatteryAlwaysOn => false,
        }
    }
}

impl Checked {
    /// Returns the verdict in words.
    pub fn verdict_words(&self) -> String {
        let hides = if self.faults.iter().any(|fault| fault.kind.is_silence()) {
            "; what is silent may hide others"
        } else {
            ""
        };
        match (self.is_as_wanted(), self.same_circuit, self.joints_missing, self.faults.len()) {
            (true, ..) => {
                "as wanted: these wires are the circuit that the file asks for, in every position".to_owned()
            }
            (false, _, Some(1), _) => "not as wanted yet: one joint is missing, and none is wrong".to_owned(),
            (false, _, Some(count), _) => {
                format!("not as wanted yet: {count} joints are missing, and none is wrong")
            }
            (false, true, None, 1) => "the right circuit, with one fault".to_owned(),
            (false, true, None, count) => format!("the right circuit, with {count} faults"),
            (false, false, None, 1) => format!("not as wanted: one fault{hides}"),
            (false, false, None, count) => format!("not as wanted: {count} faults{hides}"),
        }
    }

    /// Returns whether nothing is wrong.
    pub fn is_as_wanted(&self) -> bool {
        self.faults.is_empty()
    }
}
