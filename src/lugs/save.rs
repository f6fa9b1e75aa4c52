//! A plan put into a guitar's file as a soldered switch.

use crate::document::Literal;
use crate::guitar::{Draft, DraftError};
use crate::wiring::{EndNames, Plan};

/// What a switch is called where nothing else is said.
const USUAL_NAME: &str = "mode";

/// Where a plan was put.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PutPlan {
    /// The switch's name.
    pub name: String,
    /// Whether the file had a switch there with other joints, which are gone.
    pub replaced: bool,
}

/// Puts `plan` into the guitar `draft` as the switch of the pickup called `pickup`: in place of the joints of the one that
/// the file has there, or as a switch of its own.
///
/// # Errors
/// [`DraftError`]; the draft may have changed in part.
pub fn put_plan(plan: &Plan, draft: &mut Draft, pickup: &str) -> Result<PutPlan, DraftError> {
    let count = draft.count("switch")?;
    let stated = |draft: &Draft, i: usize, key: &str| draft.get(&format!("switch[{i}].{key}"));
    let mut taken = Vec::new();
    let mut there = None;
    for i in 0..count {
        // A guitar of one pickup need not say which one its switch is on.
        let on = stated(draft, i, "on")?;
        if there.is_none() && on.is_none_or(|on| on == pickup) {
            there = Some(format!("switch[{i}]"));
        }
        taken.extend(stated(draft, i, "name")?);
    }
    let before = draft.text().to_owned();
    let is_new = there.is_none();
    let place = if let Some(place) = there {
        place
    } else {
        let free = (1..).map(|i| if i == 1 { USUAL_NAME.to_owned() } else { format!("{USUAL_NAME}-{i}") });
        let name = free.into_iter().find(|name| !taken.contains(name)).unwrap_or_default();
        let place = draft.add("switch")?.to_string();
        draft.set(&format!("{place}.name"), name.as_str())?;
        draft.set(&format!("{place}.on"), pickup)?;
        place
    };
    draft.set(&format!("{place}.table"), plan.switch().name())?;
    let name_of =
        |thing: &crate::wiring::Thing| thing.name(plan.switch(), EndNames::PlusMinus, [true; 2]).to_owned();
    let joints = plan.groups().iter().map(|group| group.iter().map(name_of).collect()).collect();
    draft.set(&format!("{place}.joints"), Literal::TextLists(joints))?;
    let name = draft.get(&format!("{place}.name"))?.unwrap_or_default();
    Ok(PutPlan { name, replaced: !is_new && draft.text() != before })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;
    use crate::lugs::{Asked, Wanted, ranked};
    use crate::wiring::{Arrangement, Switch};

    fn plan(throws: [Arrangement; 2]) -> Plan {
        let asked = throws.map(Asked::Named).to_vec();
        let wanted = Wanted::new(Switch::named("on-on").expect("built in"), asked).expect("two throws");
        ranked(wanted.fewest().plans).remove(0).1
    }

    #[test]
    fn a_plan_is_added_as_a_switch_or_takes_the_place_of_the_joints_there() {
        let text = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\" # small\n[[pickup]]\nname = \"neck\"\n\
            like = \"mini\"\n[cable]\nlength = \"6 m\"\n";
        let mut draft = Draft::of(Document::new("mine.toml", text));
        let first = plan([Arrangement::Series, Arrangement::Parallel]);
        let put = |name: &str, replaced: bool| Ok(PutPlan { name: name.to_owned(), replaced });
        assert_eq!(put_plan(&first, &mut draft, "neck"), put("mode", false));
        assert!(draft.text().starts_with(text), "{}", draft.text());
        assert_eq!(put_plan(&first, &mut draft, "bridge"), put("mode-2", false));
        assert_eq!(put_plan(&first, &mut draft, "bridge"), put("mode-2", false), "the same once more");
        let guitar = draft.check().expect("no fault");
        let throws = guitar.switches()[0].plan([true; 2]).throws();
        assert_eq!(throws, [Arrangement::Series.connection(), Arrangement::Parallel.connection()]);
        assert_eq!(guitar.switched_by(&guitar.switches()[1]).name().as_str(), "bridge");

        let second = plan([Arrangement::Parallel, Arrangement::Series]);
        assert_eq!(put_plan(&second, &mut draft, "neck"), put("mode", true));
        let guitar = draft.check().expect("no fault");
        assert_eq!(guitar.switches().len(), 2);
        assert_eq!(guitar.switches()[0].plan([true; 2]).throws()[0], Arrangement::Parallel.connection());
    }
}
