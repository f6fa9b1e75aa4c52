//! The browser opened at the panel.

use std::io::{self, Write};

use tempfile::{Builder, NamedTempFile};

use drywire::markup::escaped;

/// Opens the browser at `address`, whose token is in no command line: a file that only the person can read leads on to it.
/// The file goes as what is returned is dropped.
pub(super) fn open_browser(address: &str) -> io::Result<NamedTempFile> {
    let folder = dirs::runtime_dir().filter(|folder| folder.is_dir()).unwrap_or_else(std::env::temp_dir);
    let mut file = Builder::new().prefix("drywire-").suffix(".html").tempfile_in(folder)?;
    write!(
        file,
        "<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n<meta name=\"referrer\" content=\"no-referrer\">\n\
         <meta http-equiv=\"refresh\" content=\"0; url={0}\">\n<title>drywire</title>\n<p><a href=\"{0}\">Open the panel</a></p>\n",
        escaped(address)
    )?;
    file.flush()?;
    open::that_detached(file.path())?;
    Ok(file)
}
