//! A pickup as it is connected, with its own controls.

use super::chain::Chain;
use super::coils;
use super::pen::{HOT, Pen};
use crate::guitar::{Guitar, Pickup};
use crate::response::{Scope, VoiceResponse};
use crate::wiring::{Arrangement, Connection, Function};

/// A pickup of a voice.
pub(super) struct Row<'g> {
    pickup: &'g Pickup,
    how: How,
    /// Whether anything of it is heard.
    pub(super) is_heard: bool,
}

/// How its coils are connected.
enum How {
    Named(Arrangement),
    Otherwise(String),
}

impl How {
    fn of(pickup: &Pickup, arrangement: Option<Arrangement>, connection: Connection) -> Self {
        let one = pickup.coil_b().is_none().then_some(Arrangement::Alone);
        match one.or(arrangement).or_else(|| Function::of(&connection).arrangement()) {
            Some(arrangement) => Self::Named(arrangement),
            None => Self::Otherwise(connection.words()),
        }
    }
}

impl<'g> Row<'g> {
    /// Returns the pickups of what is heard, in the order of the guitar.
    pub(super) fn of(guitar: &'g Guitar, scope: Scope<'g>, response: &VoiceResponse) -> Vec<Self> {
        let pickups = scope.pickups(guitar);
        let heard = response.pickups_heard(guitar, scope);
        let voice = response.voice();
        let how = |place: usize, pickup: &Pickup| match (voice.setting(), voice.connection()) {
            (Some(setting), _) => {
                let bypassed = setting.pickups.get(place).is_some_and(|own| own.bypassed);
                let named = bypassed.then_some(Arrangement::SeriesBypassed);
                How::of(pickup, named, setting.connection(guitar, place))
            }
            (None, Some(connection)) => How::of(pickup, voice.arrangement(), *connection),
            (None, None) => How::Otherwise(String::new()),
        };
        pickups
            .into_iter()
            .enumerate()
            .map(|(place, pickup)| Self {
                pickup,
                how: how(place, pickup),
                is_heard: heard.get(place).copied().unwrap_or(true),
            })
            .collect()
    }

    /// Draws it and returns where its conductors end.
    pub(super) fn draw(&self, pen: &mut Pen) -> f64 {
        let state = if self.is_heard { "" } else { ", not heard here" };
        pen.text("called", 22.0, HOT - 22.0, &format!("{}{state}", self.pickup.name()));
        let x = match &self.how {
            How::Named(arrangement) => coils::draw(pen, 0.0, self.pickup, *arrangement),
            How::Otherwise(words) => coils::draw_unnamed(pen, 0.0, self.pickup, words),
        };
        let mut chain = Chain::new(pen, x);
        chain.controls(self.pickup.controls());
        chain.end()
    }
}
