//! The frame of every page.

use drywire::cautions;
use maud::{DOCTYPE, Markup, html};

use super::HAND_SCRIPTS;

/// A page of the panel.
#[derive(Debug)]
pub(crate) struct Frame<'f> {
    /// What all of the panel's paths begin with.
    pub(crate) base: &'f str,
    /// What the page is called.
    pub(crate) title: &'f str,
    /// The guitar that the page is about: its folder, and the number of its last change.
    pub(crate) guitar: Option<(&'f str, u64)>,
    /// How much was told to the windows before the page was made, where it is to follow what happens.
    pub(crate) told: Option<u64>,
    /// Where one is.
    pub(crate) tab: Tab,
}

/// The places.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Tab {
    Guitars,
    New,
    /// Of pickups that are in no guitar.
    Leads,
    Of(GuitarPlace),
    File,
}

/// The places of one guitar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum GuitarPlace {
    Guitar,
    Leads,
    Measure,
    Hear,
    Plan,
    Cavity,
    Prove,
    Confirm,
    Survey,
    Send,
}

impl GuitarPlace {
    /// All of them, in the order of the job.
    pub(crate) const ALL: [Self; 10] = [
        Self::Guitar,
        Self::Leads,
        Self::Measure,
        Self::Hear,
        Self::Plan,
        Self::Cavity,
        Self::Prove,
        Self::Confirm,
        Self::Survey,
        Self::Send,
    ];

    /// Returns what is below the guitar's path.
    pub(crate) fn path(self) -> &'static str {
        match self {
            Self::Guitar => "",
            Self::Leads => "leads/",
            Self::Measure => "measure/",
            Self::Hear => "hear/",
            Self::Plan => "plan/",
            Self::Cavity => "cavity/",
            Self::Prove => "prove/",
            Self::Confirm => "confirm/",
            Self::Survey => "survey/",
            Self::Send => "send/",
        }
    }

    /// Returns whether the job can be done without it.
    const fn can_be_left_out(self) -> bool {
        match self {
            Self::Measure | Self::Confirm | Self::Survey => true,
            Self::Guitar
            | Self::Leads
            | Self::Hear
            | Self::Plan
            | Self::Cavity
            | Self::Prove
            | Self::Send => false,
        }
    }

    /// Returns the places to which one goes on from here, each with what it is for: the next one first.
    const fn onward(self) -> &'static [(Self, &'static str)] {
        const LEADS: (GuitarPlace, &str) = (GuitarPlace::Leads, "which lead of a pickup is which");
        const MEASURE: (GuitarPlace, &str) = (GuitarPlace::Measure, "what its coils are, by a sound card");
        const HEAR: (GuitarPlace, &str) = (GuitarPlace::Hear, "what each way to join its coils sounds like");
        const SURVEY: (GuitarPlace, &str) = (GuitarPlace::Survey, "which of all ways sound alike");
        const PLAN: (GuitarPlace, &str) = (GuitarPlace::Plan, "which lead goes on which lug of a switch");
        const CAVITY: (GuitarPlace, &str) = (GuitarPlace::Cavity, "every wire, to solder from");
        const PROVE: (GuitarPlace, &str) =
            (GuitarPlace::Prove, "once it is soldered, what the meter must read");
        const CONFIRM: (GuitarPlace, &str) =
            (GuitarPlace::Confirm, "whether it sounds as foretold, by recordings");
        const SEND: (GuitarPlace, &str) = (GuitarPlace::Send, "a page that plays, and the sheets");
        match self {
            Self::Guitar => &[LEADS, HEAR],
            Self::Leads => &[HEAR, MEASURE],
            Self::Measure => &[HEAR],
            Self::Hear => &[PLAN, SURVEY],
            Self::Survey => &[PLAN],
            Self::Plan => &[CAVITY],
            Self::Cavity => &[PROVE],
            Self::Prove => &[SEND, CONFIRM],
            Self::Confirm => &[SEND],
            Self::Send => &[],
        }
    }

    /// Returns the line that leads on from here, below the path `whole` of the guitar.
    pub(crate) fn leads_on(self, whole: &str) -> Markup {
        html! {
            @if let Some(((next, for_what), others)) = self.onward().split_first() {
                p #onward .onward data-part="onward" {
                    "Next: " a href={ (whole) (next.path()) } { (next.name()) } ", " (for_what)
                    @for (other, for_what) in others { "; or " a href={ (whole) (other.path()) } { (other.name()) } ", " (for_what) }
                    "."
                }
            }
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Guitar => "Guitar",
            Self::Leads => "Leads",
            Self::Measure => "Measure",
            Self::Hear => "Hear",
            Self::Plan => "Plan",
            Self::Cavity => "Cavity",
            Self::Prove => "Prove",
            Self::Confirm => "Confirm",
            Self::Survey => "Survey",
            Self::Send => "Send",
        }
    }
}

impl Frame<'_> {
    /// Returns the whole page with this main part.
    pub(crate) fn page(&self, main: &Markup) -> Markup {
        let link = |tab: Tab, path: String, name: &str| {
            let can_be_left_out = matches!(tab, Tab::Of(place) if place.can_be_left_out());
            html! { a.extra[can_be_left_out] href=(path) aria-current=[(tab == self.tab).then_some("page")] { (name) } }
        };
        let (base, guitar) = (self.base, self.guitar);
        html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="color-scheme" content="light dark";
                    title { (self.title) " · drywire" }
                    link rel="stylesheet" href={ (base) "style.css" };
                    link rel="icon" href={ (base) "icon.svg" } type="image/svg+xml";
                    script src={ (base) "panel.js" } defer {}
                    @if matches!(self.tab, Tab::Of(GuitarPlace::Plan | GuitarPlace::Cavity)) {
                        @for (name, _) in HAND_SCRIPTS { script type="module" src={ (base) (name) } {} }
                    }
                    @if self.tab == Tab::Of(GuitarPlace::Hear) { script src={ (base) "parts.js" } defer {} script type="module" src={ (base) "hear.js" } {} }
                    @if self.tab == Tab::Of(GuitarPlace::Measure) { script type="module" src={ (base) "measure.js" } {} }
                    @if self.tab == Tab::Of(GuitarPlace::Confirm) { script type="module" src={ (base) "confirm.js" } {} }
                }
                body data-base=(base) data-guitar=[guitar.map(|(folder, _)| folder)] data-number=[guitar.map(|(_, number)| number)] data-told=[self.told] {
                    a.skip href="#main" { "Skip to the page's content" }
                    header.top {
                        p.maker { "drywire " span { "a dry run for a rewire" } }
                        nav.places aria-label="Places" {
                            (link(Tab::Guitars, base.to_owned(), "Guitars"))
                            @if let Some((folder, _)) = guitar {
                                @for place in GuitarPlace::ALL {
                                    (link(Tab::Of(place), format!("{base}g/{}/{}", path_segment(folder), place.path()), place.name()))
                                }
                                (link(Tab::File, format!("{base}g/{}/file", path_segment(folder)), "File"))
                                span.small { "From left to right; " i { "Measure, Confirm, Survey" } " can be left out." }
                            } @else {
                                (link(Tab::New, format!("{base}new"), "New guitar"))
                                (link(Tab::Leads, format!("{base}leads/"), "Leads"))
                            }
                        }
                    }
                    noscript { p.notice { "This window needs its own script, which comes from this machine alone." } }
                    p #ended .notice role="alert" hidden { "The panel has ended, and what was saved is safe. Start it again to go on." }
                    main #main tabindex="-1" { (main) }
                    p #said .unseen role="status" {}
                    footer.cautions {
                        @for caution in cautions::BENCH { p { (caution) } }
                        p { (cautions::EARS) }
                    }
                }
            }
        }
    }
}

impl Frame<'_> {
    /// Returns what replaces parts of the page that is there, by their names.
    pub(crate) fn part(&self, parts: &Markup) -> Markup {
        let guitar = self.guitar;
        html! {
            (DOCTYPE)
            html lang="en" {
                head { meta charset="utf-8"; title { (self.title) " · drywire" } }
                body data-base=(self.base) data-guitar=[guitar.map(|(folder, _)| folder)] data-number=[guitar.map(|(_, number)| number)] data-told=[self.told] data-parts { (parts) }
            }
        }
    }
}

/// Returns a folder's name as a segment of a path.
pub(crate) fn path_segment(name: &str) -> String {
    let mut segment = String::new();
    for byte in name.bytes() {
        if byte.is_ascii_alphanumeric() || b"-_.~".contains(&byte) {
            segment.push(char::from(byte));
        } else {
            segment += &format!("%{byte:02X}");
        }
    }
    segment
}

/// Returns something that went otherwise than was asked for, and what to do.
pub(crate) fn notice(message: &str, hint: &str) -> Markup {
    html! { p.notice role="alert" { (message) @if !hint.is_empty() { ": " (hint) } } }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_next_of_every_place_leads_through_all_that_cannot_be_left_out() {
        let next = |place: &GuitarPlace| place.onward().first().map(|(next, _)| *next);
        let path: Vec<GuitarPlace> = std::iter::successors(Some(GuitarPlace::Guitar), next).collect();
        let needed: Vec<GuitarPlace> =
            GuitarPlace::ALL.into_iter().filter(|place| !place.can_be_left_out()).collect();
        assert_eq!(path, needed);
        for extra in GuitarPlace::ALL.into_iter().filter(|place| place.can_be_left_out()) {
            let led = GuitarPlace::ALL.iter().any(|from| from.onward().iter().any(|(to, _)| *to == extra));
            assert!(led && next(&extra).is_some_and(|next| !next.can_be_left_out()), "{extra:?}");
        }
    }
}
