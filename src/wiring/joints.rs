//! Joints as a file lists them: groups of things that meet at one point.

use crate::document::{Fault, Located, Section};

/// The most groups, and the most things in one, that a file may join in one place.
const MAX_JOINED: usize = 40;

/// Returns the groups of `joints`, each thing found by `find` from its name, or what is wrong with it.
///
/// Nothing may be joined twice; every fault is noted in `section`.
pub(crate) fn groups<T: PartialEq + Clone>(
    section: &Section<'_>,
    joints: &[Located<Vec<Located<String>>>],
    mut find: impl FnMut(&Located<String>) -> Result<T, Fault>,
) -> Option<Vec<Vec<T>>> {
    let mut seen: Vec<T> = Vec::new();
    let mut thing = |name: &Located<String>| {
        let found = find(name).and_then(|thing| {
            if seen.contains(&thing) {
                let message = format!("`{}` is joined twice", name.value);
                return Err(
                    Fault::new(name.span.clone(), message).hint("write what meets at one point as one joint")
                );
            }
            seen.push(thing.clone());
            Ok(thing)
        });
        found.map_err(|fault| section.note(fault)).ok()
    };
    let mut groups = Vec::new();
    let mut whole = true;
    for (i, joint) in joints.iter().enumerate() {
        for (over, what) in
            [(i == MAX_JOINED, "joints in one list"), (joint.value.len() > MAX_JOINED, "things in one joint")]
        {
            if over {
                section.note(Fault::new(joint.span.clone(), format!("more than {MAX_JOINED} {what}")));
                return None;
            }
        }
        if joint.value.is_empty() {
            section.note(Fault::new(joint.span.clone(), "a joint of nothing").hint("leave it out"));
            whole = false;
        }
        let things: Vec<Option<T>> = joint.value.iter().map(&mut thing).collect();
        match things.into_iter().collect() {
            Some(things) => groups.push(things),
            None => whole = false,
        }
    }
    whole.then_some(groups)
}
