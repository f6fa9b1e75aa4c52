//! The panel's server: on this machine alone, and for the person's own browser alone.

mod door;
mod opening;
mod secret;
mod windows;

use std::io;
use std::net::{Ipv4Addr, Ipv6Addr, SocketAddr, TcpListener};
use std::ops::ControlFlow;
use std::path::PathBuf;
use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::extract::{DefaultBodyLimit, Path, Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, REFERRER_POLICY, SET_COOKIE, X_CONTENT_TYPE_OPTIONS,
};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use axum::routing::get;

use self::door::{Door, Knock, PRINTED, SOON, TurnedAway};
use self::windows::Windows;
use super::guitars::Guitars;
use super::places::{
    self, KnownConfirmed, KnownMeasured, KnownMoves, KnownSounds, KnownUnseen, Notes, Previews, Works,
};

/// The most bytes of a form.
pub(crate) const MOST_OF_A_FORM: usize = 256 * 1024;

/// The most bytes of a piece of a take that comes in: some ten seconds of it.
pub(crate) const MOST_OF_A_PIECE: usize = 16 << 20;

/// The most bytes of a take.
pub(crate) const MOST_OF_A_TAKE: u64 = 2 << 30;

/// What every request needs.
#[derive(Debug)]
pub(crate) struct Panel {
    pub(crate) guitars: Arc<Guitars>,
    pub(crate) windows: Arc<Windows>,
    pub(crate) moves: KnownMoves,
    pub(crate) sounds: KnownSounds,
    pub(crate) unseen: KnownUnseen,
    pub(crate) measured: KnownMeasured,
    pub(crate) previews: Previews,
    pub(crate) confirmed: KnownConfirmed,
    pub(crate) notes: Notes,
    pub(crate) works: Works,
    door: Door,
}

impl Panel {
    /// Returns what all paths of the panel begin with.
    pub(crate) fn base(&self) -> String {
        self.door.base()
    }
}

/// How a panel is started.
#[derive(Debug, Clone)]
pub(crate) struct Options {
    /// The guitars' folder.
    pub(crate) folder: PathBuf,
    /// The port to listen on; a free one where there is none, or it is taken.
    pub(crate) port: Option<u16>,
    /// Whether the browser is opened.
    pub(crate) opens: bool,
}

/// What is told while a panel is started.
#[derive(Debug)]
pub(crate) enum Started<'s> {
    /// The port asked for is taken, and another is used.
    PortTaken(u16),
    /// The panel listens and can be entered once at this address.
    At(&'s str),
    /// No browser could be opened.
    NoBrowser(io::Error),
}

/// Serves the panel until its last window is closed, or the person ends it, or until `tell` breaks off.
///
/// # Errors
/// What keeps it from listening.
pub(crate) fn serve(
    options: &Options,
    tell: &mut dyn FnMut(Started<'_>) -> ControlFlow<()>,
) -> io::Result<()> {
    let listener = listener(options.port, tell)?;
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build()?;
    let door = Door::new(listener.local_addr()?)?;
    let guitars = Guitars::open(options.folder.clone());
    let panel = Arc::new(Panel {
        guitars: Arc::clone(&guitars),
        windows: Arc::default(),
        moves: KnownMoves::default(),
        sounds: KnownSounds::default(),
        unseen: KnownUnseen::default(),
        measured: KnownMeasured::default(),
        previews: Previews::default(),
        confirmed: KnownConfirmed::default(),
        notes: Notes::default(),
        works: Works::default(),
        door,
    });
    let printed = panel.door.entrance(PRINTED)?;
    if tell(Started::At(&printed)).is_break() {
        return Ok(());
    }
    let mut leading = None;
    if options.opens {
        match panel.door.entrance(SOON).and_then(|address| opening::open_browser(&address)) {
            Ok(file) => leading = Some(file),
            Err(error) => {
                if tell(Started::NoBrowser(error)).is_break() {
                    return Ok(());
                }
            }
        }
    }
    let served = runtime.block_on(async {
        let listener = tokio::net::TcpListener::from_std(listener)?;
        let windows = Arc::clone(&panel.windows);
        let server = axum::serve(listener, router(panel)).into_future();
        tokio::select! {
            served = server => served,
            () = windows.all_closed() => Ok(()),
            () = asked_to_end() => Ok(()),
            () = forget(leading) => Ok(()),
        }
    });
    guitars.save_all();
    runtime.shutdown_background();
    served
}

/// Removes the file that led the browser here once its address is spent.
async fn forget(leading: Option<tempfile::NamedTempFile>) {
    tokio::time::sleep(SOON).await;
    drop(leading);
    std::future::pending::<()>().await;
}

/// Waits for the signals that end a program.
async fn asked_to_end() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let Ok(mut ends) = signal(SignalKind::terminate()) else { return std::future::pending().await };
        let Ok(mut hangs_up) = signal(SignalKind::hangup()) else { return std::future::pending().await };
        tokio::select! {
            _ = tokio::signal::ctrl_c() => {}
            _ = ends.recv() => {}
            _ = hangs_up.recv() => {}
        }
    }
    #[cfg(not(unix))]
    let _ = tokio::signal::ctrl_c().await;
}

/// Listens on this machine alone.
fn listener(
    port: Option<u16>,
    tell: &mut dyn FnMut(Started<'_>) -> ControlFlow<()>,
) -> io::Result<TcpListener> {
    let on = |port: u16| {
        TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port))).or_else(|error| match error.kind() {
            io::ErrorKind::AddrNotAvailable | io::ErrorKind::Unsupported => {
                TcpListener::bind(SocketAddr::from((Ipv6Addr::LOCALHOST, port)))
            }
            _ => Err(error),
        })
    };
    let listener = match port {
        None => on(0),
        Some(port) => on(port).or_else(|error| match error.kind() {
            io::ErrorKind::AddrInUse => {
                // It is only told: another port serves as well.
                let _ = tell(Started::PortTaken(port));
                on(0)
            }
            _ => Err(error),
        }),
    }?;
    listener.set_nonblocking(true)?;
    Ok(listener)
}

fn router(panel: Arc<Panel>) -> Router {
    places::routes(&panel.base())
        .route("/enter/{token}", get(enter))
        .layer(DefaultBodyLimit::max(MOST_OF_A_FORM))
        .layer(from_fn_with_state(Arc::clone(&panel), guarded))
        .with_state(panel)
}

/// Gives the cookie to who has a token that is still good, on a page that leads on: a redirect would lose it where the
/// address is opened from a file.
async fn enter(State(panel): State<Arc<Panel>>, Path(token): Path<String>) -> Response {
    match panel.door.enter(&token) {
        None => places::spent().into_response(),
        Some(cookie) => {
            let mut headers = HeaderMap::new();
            if let Ok(cookie) = HeaderValue::from_str(&cookie) {
                headers.insert(SET_COOKIE, cookie);
            }
            (headers, places::lead_on(&panel.base())).into_response()
        }
    }
}

/// Turns away what does not come from the panel's own pages, before anything is read.
async fn guarded(State(panel): State<Arc<Panel>>, request: Request, next: Next) -> Response {
    let knock = Knock { method: request.method(), path: request.uri().path(), headers: request.headers() };
    let mut response = match panel.door.look(knock, places::most_bytes(knock.path)) {
        Ok(()) => next.run(request).await,
        Err(TurnedAway::Foreign) => turned_away(),
        Err(TurnedAway::TooLarge) => {
            let is_of_a_page = places::is_of_a_page(knock.method, request.uri(), knock.headers);
            places::too_large(&panel, is_of_a_page)
        }
    };
    for (name, value) in HEADERS {
        response.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    response
}

fn turned_away() -> Response {
    let mut response = Response::new(Body::empty());
    *response.status_mut() = StatusCode::FORBIDDEN;
    response.headers_mut().insert(CONTENT_TYPE, HeaderValue::from_static("text/plain"));
    response
}

const OPENER: HeaderName = HeaderName::from_static("cross-origin-opener-policy");
const RESOURCES: HeaderName = HeaderName::from_static("cross-origin-resource-policy");
const PERMISSIONS: HeaderName = HeaderName::from_static("permissions-policy");

/// What every answer says.
const HEADERS: [(HeaderName, &str); 7] = [
    (
        CONTENT_SECURITY_POLICY,
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; \
         worker-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'",
    ),
    (REFERRER_POLICY, "no-referrer"),
    (CACHE_CONTROL, "no-store"),
    (X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (OPENER, "same-origin"),
    (RESOURCES, "same-origin"),
    (PERMISSIONS, "microphone=(self), camera=(), geolocation=()"),
];
