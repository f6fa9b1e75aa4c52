//! A guitar in the list.

use std::time::{Duration, SystemTime};

use drywire::quantity::counted;
use drywire::response::Selection;
use maud::{Markup, html};

use super::curve::thumbnail;
use super::frame::path_segment;
use crate::panel::guitars::Listed;

/// Returns the card of a guitar.
pub(crate) fn card(base: &str, listed: &Listed) -> Markup {
    let at = format!("{base}g/{}/", path_segment(listed.folder.as_str()));
    let told = match &listed.guitar {
        Ok(guitar) => {
            let names: Vec<&str> = guitar.pickups().iter().map(|pickup| pickup.name().as_str()).collect();
            names.join(", ")
        }
        Err(faults) => format!("{} in its file", counted(*faults, "fault")),
    };
    let selection = listed.guitar.as_ref().ok().and_then(|guitar| Selection::usual(guitar).ok());
    html! {
        li.guitar data-part={ "g-" (listed.folder) } {
            a.open href=(at) {
                @match &selection { Some(selection) => (thumbnail(selection)), None => span.thumbnail {} }
                span.name { bdi { (listed.called) } }
                span.small { (told) }
                span.small { (ago(listed.changed)) }
            }
            details.more {
                summary { "Copy, rename, remove" span.unseen { " " (listed.called) } }
                form method="post" action={ (at) "copy" } {
                    label { "Name of the copy " input name="name" value={ (listed.called) ", after" } required maxlength="80"; }
                    button { "Copy, to stand beside this one" }
                }
                form method="post" action={ (at) "rename" } {
                    label { "Name " input name="name" value=(listed.called) required maxlength="80"; }
                    button { "Rename" }
                }
                form method="post" action={ (at) "remove" } {
                    p.small { "Its folder, with all that is in it, goes into the system's bin." }
                    button { "Remove" }
                }
            }
        }
    }
}

/// Returns when a file was last changed, in words.
fn ago(changed: Option<SystemTime>) -> String {
    let Some(changed) = changed else { return String::new() };
    let past = SystemTime::now().duration_since(changed).unwrap_or(Duration::ZERO).as_secs();
    match past {
        0..=89 => "worked on just now".to_owned(),
        90..=5399 => format!("worked on {} ago", counted((past + 30) / 60, "minute")),
        5400..=129_599 => format!("worked on {} ago", counted((past + 1800) / 3600, "hour")),
        _ => format!("worked on {} ago", counted((past + 43_200) / 86_400, "day")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_time_since_is_told_in_the_largest_unit_that_fits() {
        let of = |seconds| ago(Some(SystemTime::now() - Duration::from_secs(seconds)));
        assert_eq!(of(5), "worked on just now");
        assert_eq!(of(90), "worked on 2 minutes ago");
        assert_eq!(of(3600 * 3), "worked on 3 hours ago");
        assert_eq!(of(86_400 * 2), "worked on 2 days ago");
        assert_eq!(ago(None), "");
    }
}
