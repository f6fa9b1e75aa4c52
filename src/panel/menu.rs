//! The panel in the desktop's menu.

use std::io;
use std::path::{Path, PathBuf};

use drywire::folder::{Existing, Inputs, NewFile};

const ENTRY: &str = include_str!("desktop/drywire.desktop");
const ICON: &str = include_str!("desktop/drywire.svg");

/// Writes the desktop entry and the icon into the person's own data folder, and returns where they are.
///
/// # Source
/// The Desktop Entry Specification 1.5 and the Icon Theme Specification 0.13 of freedesktop.org.
pub(crate) fn add_to_menu() -> io::Result<[PathBuf; 2]> {
    let data =
        dirs::data_dir().ok_or_else(|| io::Error::other("there is no folder for a person's own data"))?;
    let program = std::env::current_exe()?;
    written_to(&data, &program)
}

fn written_to(data: &Path, program: &Path) -> io::Result<[PathBuf; 2]> {
    let entry = data.join("applications/drywire.desktop");
    let icon = data.join("icons/hicolor/scalable/apps/drywire.svg");
    let text = ENTRY.replace("Exec=drywire ", &format!("Exec={} ", argument(program)));
    for (path, text) in [(&entry, text.as_str()), (&icon, ICON)] {
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder)?;
        }
        let written = NewFile::write(path, text.as_bytes(), Existing::Replace, &Inputs::default());
        written.map_err(io::Error::other)?;
    }
    Ok([entry, icon])
}

/// Returns a path as an argument of an entry's `Exec`: in quotes, its special characters escaped, and each `%` twice.
fn argument(program: &Path) -> String {
    let mut argument = String::from("\"");
    for c in program.display().to_string().chars() {
        match c {
            // A string's own backslashes are doubled once more.
            '\\' => argument += "\\\\\\\\",
            '"' | '`' | '$' => argument.extend(['\\', '\\', c]),
            '%' => argument += "%%",
            other => argument.push(other),
        }
    }
    argument + "\""
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_entry_starts_this_program_and_the_icon_is_a_picture() {
        let data = tempfile::tempdir().unwrap();
        let [entry, icon] = written_to(data.path(), Path::new("/opt/my 100% tools/drywire")).unwrap();
        let text = std::fs::read_to_string(entry).unwrap();
        assert!(text.contains("\nExec=\"/opt/my 100%% tools/drywire\" panel\n"), "{text}");
        assert!(text.starts_with("[Desktop Entry]\n") && text.contains("\nIcon=drywire\n"));
        let icon = std::fs::read_to_string(icon).unwrap();
        assert_eq!(roxmltree::Document::parse(&icon).unwrap().root_element().tag_name().name(), "svg");
        // Again, over what is there.
        written_to(data.path(), Path::new("/opt/drywire")).unwrap();
    }
}
