//! A switch's contact table.

use drywire::wiring::Switch;

use super::{check_refusal, document};

/// Reads the bytes and follows the lever.
pub fn run(bytes: &[u8]) {
    let Some(document) = document(bytes) else { return };
    let switch = match document.interpret(Switch::read) {
        Ok(switch) => switch,
        Err(refusal) => return check_refusal(&refusal),
    };
    assert_eq!(switch.travel().len(), switch.poles().len());
    for throw in switch.throws() {
        for [one, other] in throw.contacts() {
            assert_ne!(switch.name_of(*one), switch.name_of(*other));
            assert!(switch.is_common(*one) || switch.is_common(*other));
        }
    }
    for lug in switch.lugs() {
        assert_eq!(switch.lug(switch.name_of(lug)), Some(lug));
    }
}
