//! Who is let in: the person's own browser, and no other site, port or user.
//!
//! All pages and data lie below a path that is drawn by chance. Who opens an address with a token, which works once and for a
//! short while, is given a cookie for that path alone. Browsers send the cookies of a host to every port of it, but not off
//! their path; so another port's server never sees it.
//!
//! # Source
//! RFC 6265bis, *Cookies*: 5.8.3, paths; W3C, *Fetch Metadata Request Headers*; Fetch Standard, *Origin header*.

use std::net::SocketAddr;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use axum::http::header::{CONTENT_LENGTH, COOKIE, HOST, ORIGIN};
use axum::http::{HeaderMap, Method};

use super::secret::Secret;

/// The cookie's name.
const COOKIE_NAME: &str = "drywire";
/// A token in a file that the browser is made to open.
pub(super) const SOON: Duration = Duration::from_secs(60);
/// A token that is printed for the person to open.
pub(super) const PRINTED: Duration = Duration::from_secs(600);

/// The door of one panel.
#[derive(Debug)]
pub(crate) struct Door {
    address: SocketAddr,
    path: Secret,
    cookie: Secret,
    tokens: Mutex<Vec<(Secret, Instant)>>,
}

/// What of a request counts.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Knock<'r> {
    pub(crate) method: &'r Method,
    pub(crate) path: &'r str,
    pub(crate) headers: &'r HeaderMap,
}

/// Why a request is turned away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TurnedAway {
    /// It comes from elsewhere, or is of no kind that the panel sends.
    Foreign,
    /// It would send more than any place takes.
    TooLarge,
}

impl Door {
    /// Makes the door of a panel that listens at `address`.
    pub(super) fn new(address: SocketAddr) -> std::io::Result<Self> {
        Ok(Self { address, path: Secret::draw()?, cookie: Secret::draw()?, tokens: Mutex::default() })
    }

    /// Returns what all paths of the panel begin with, `/` at both ends.
    pub(crate) fn base(&self) -> String {
        format!("/{}/", self.path.as_str())
    }

    /// Returns an address by which the panel is entered once, within `life`.
    pub(super) fn entrance(&self, life: Duration) -> std::io::Result<String> {
        let token = Secret::draw()?;
        let address = format!("http://{}/enter/{}", self.address, token.as_str());
        self.tokens().push((token, Instant::now() + life));
        Ok(address)
    }

    fn tokens(&self) -> std::sync::MutexGuard<'_, Vec<(Secret, Instant)>> {
        self.tokens.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Spends `token` and returns the cookie to set, where it is good.
    pub(super) fn enter(&self, token: &str) -> Option<String> {
        let mut tokens = self.tokens();
        let place = tokens.iter().position(|(own, _)| own.is(token))?;
        let (_, until) = tokens.swap_remove(place);
        drop(tokens);
        let (cookie, path) = (self.cookie.as_str(), self.base());
        (Instant::now() < until)
            .then(|| format!("{COOKIE_NAME}={cookie}; Path={path}; HttpOnly; SameSite=Strict"))
    }

    /// Looks at a request before anything of its body is read.
    pub(crate) fn look(&self, knock: Knock<'_>, most_bytes: u64) -> Result<(), TurnedAway> {
        let foreign = Err(TurnedAway::Foreign);
        let text = |name: &str| knock.headers.get(name).map(|value| value.to_str().unwrap_or("?"));
        let own = self.address.to_string();
        let has_one = |name| knock.headers.get_all(name).iter().count() == 1;
        if !has_one(HOST) || text(HOST.as_str()) != Some(own.as_str()) {
            return foreign;
        }
        if knock.path.starts_with("/enter/") {
            return if *knock.method == Method::GET { Ok(()) } else { foreign };
        }
        if !knock.path.starts_with(&self.base()) || !self.has_cookie(knock.headers) {
            return foreign;
        }
        let reads = [Method::GET, Method::HEAD].contains(knock.method);
        if !reads && *knock.method != Method::POST {
            return foreign;
        }
        let origin = text(ORIGIN.as_str());
        if origin.map_or(!reads, |origin| origin != format!("http://{own}")) {
            return foreign;
        }
        let is_navigation = || {
            reads && text("sec-fetch-mode") == Some("navigate") && text("sec-fetch-dest") == Some("document")
        };
        match text("sec-fetch-site") {
            Some("same-origin") => {}
            Some("none") if is_navigation() => {}
            _ => return foreign,
        }
        match text(CONTENT_LENGTH.as_str()).map(str::parse::<u64>) {
            Some(Ok(length)) if length > most_bytes => Err(TurnedAway::TooLarge),
            Some(Err(_)) => foreign,
            Some(Ok(_)) | None => Ok(()),
        }
    }

    /// Returns whether any cookie of ours is right; one planted by another port arrives beside it.
    fn has_cookie(&self, headers: &HeaderMap) -> bool {
        let cookies = headers.get_all(COOKIE).iter().filter_map(|value| value.to_str().ok());
        cookies
            .flat_map(|cookies| cookies.split(';'))
            .filter_map(|cookie| cookie.trim().split_once('='))
            .any(|(name, value)| name == COOKIE_NAME && self.cookie.is(value))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MOST: u64 = 1000;

    fn door() -> Door {
        Door::new("127.0.0.1:4321".parse().unwrap()).unwrap()
    }

    fn asked(
        door: &Door,
        method: &Method,
        path: &str,
        headers: &[(&'static str, &str)],
    ) -> Result<(), TurnedAway> {
        let mut map = HeaderMap::new();
        for (name, value) in headers {
            map.append(*name, value.parse().unwrap());
        }
        door.look(Knock { method, path, headers: &map }, MOST)
    }

    /// Enters and returns the cookie as a browser sends it.
    fn cookie(door: &Door) -> String {
        let address = door.entrance(SOON).unwrap();
        let set = door.enter(address.rsplit('/').next().unwrap()).unwrap();
        assert!(set.ends_with("/; HttpOnly; SameSite=Strict"), "{set}");
        set.split(';').next().unwrap().to_owned()
    }

    #[test]
    fn a_token_works_once_and_not_after_its_time() {
        let door = door();
        let address = door.entrance(SOON).unwrap();
        let token = address.rsplit('/').next().unwrap();
        assert_eq!(door.enter("0"), None);
        assert!(door.enter(token).is_some());
        assert_eq!(door.enter(token), None);
        let late = door.entrance(Duration::ZERO).unwrap();
        assert_eq!(door.enter(late.rsplit('/').next().unwrap()), None);
    }

    #[test]
    fn each_check_turns_away_by_itself() {
        let door = door();
        let (cookie, base) = (cookie(&door), door.base());
        let get = [("host", "127.0.0.1:4321"), ("cookie", &cookie), ("sec-fetch-site", "same-origin")];
        let post = [get[0], get[1], get[2], ("origin", "http://127.0.0.1:4321")];
        assert_eq!(asked(&door, &Method::GET, &base, &get), Ok(()));
        assert_eq!(asked(&door, &Method::POST, &base, &post), Ok(()));
        let typed = [
            get[0],
            get[1],
            ("sec-fetch-site", "none"),
            ("sec-fetch-mode", "navigate"),
            ("sec-fetch-dest", "document"),
        ];
        assert_eq!(asked(&door, &Method::GET, &base, &typed), Ok(()));
        let planted = format!("drywire=planted; {cookie}");
        assert_eq!(asked(&door, &Method::GET, &base, &[get[0], ("cookie", &planted), get[2]]), Ok(()));

        let foreign = Err(TurnedAway::Foreign);
        for host in
            ["localhost:4321", "127.0.0.1:4322", "127.0.0.1", "evil.example", "127.0.0.1:4321.evil.example"]
        {
            assert_eq!(
                asked(&door, &Method::GET, &base, &[("host", host), get[1], get[2]]),
                foreign,
                "{host}"
            );
        }
        assert_eq!(asked(&door, &Method::GET, &base, &[get[0], get[0], get[1], get[2]]), foreign);
        assert_eq!(asked(&door, &Method::GET, &base, &[get[1], get[2]]), foreign);
        assert_eq!(asked(&door, &Method::GET, &base, &[get[0], get[2]]), foreign);
        assert_eq!(asked(&door, &Method::GET, &base, &[get[0], ("cookie", "drywire=0"), get[2]]), foreign);
        assert_eq!(asked(&door, &Method::GET, "/", &get), foreign);
        assert_eq!(asked(&door, &Method::GET, "/0123/", &get), foreign);
        for site in ["same-site", "cross-site", "none", "?"] {
            assert_eq!(
                asked(&door, &Method::GET, &base, &[get[0], get[1], ("sec-fetch-site", site)]),
                foreign,
                "{site}"
            );
        }
        assert_eq!(asked(&door, &Method::GET, &base, &get[..2]), foreign);
        assert_eq!(asked(&door, &Method::POST, &base, &get), foreign);
        for origin in ["http://127.0.0.1:4322", "http://localhost:4321", "null", "https://127.0.0.1:4321"] {
            for method in [Method::POST, Method::GET] {
                let headers = [get[0], get[1], get[2], ("origin", origin)];
                assert_eq!(asked(&door, &method, &base, &headers), foreign, "{method} {origin}");
            }
        }
        for method in [Method::PUT, Method::DELETE, Method::OPTIONS, Method::PATCH, Method::TRACE] {
            assert_eq!(asked(&door, &method, &base, &post), foreign, "{method}");
        }
        let with_length = |length| [post[0], post[1], post[2], post[3], ("content-length", length)];
        assert_eq!(asked(&door, &Method::POST, &base, &with_length("1000")), Ok(()));
        assert_eq!(asked(&door, &Method::POST, &base, &with_length("3221225472")), Err(TurnedAway::TooLarge));
        assert_eq!(asked(&door, &Method::POST, &base, &with_length("x")), foreign);
    }

    #[test]
    fn the_entrance_may_be_opened_from_anywhere_and_by_opening_alone() {
        let door = door();
        let host = ("host", "127.0.0.1:4321");
        assert_eq!(asked(&door, &Method::GET, "/enter/0", &[host, ("sec-fetch-site", "cross-site")]), Ok(()));
        assert_eq!(asked(&door, &Method::POST, "/enter/0", &[host]), Err(TurnedAway::Foreign));
        assert_eq!(
            asked(&door, &Method::GET, "/enter/0", &[("host", "evil.example")]),
            Err(TurnedAway::Foreign)
        );
    }
}
