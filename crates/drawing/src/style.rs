//! Colours and line weights, in one place. A page takes [`STYLE`] into its own style sheet; a file carries it inside.

/// Where a picture is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Theme {
    /// In a page that has [`STYLE`] in its style sheet and sets the colours.
    #[default]
    Page,
    /// As a file of its own: light, dark where the reader's machine asks for it.
    File,
    /// On paper: black, bars in grey.
    Print,
}

/// Style of all pictures. A page sets `--drawing-ink`, `--drawing-quiet`, `--drawing-faint`, `--drawing-paper` and
/// `--drawing-accent`; what it does not set is black on white with one accent.
pub const STYLE: &str = include_str!("style.css");

/// Colours by name.
type Palette = [(&'static str, &'static str); 5];
const LIGHT: Palette =
    [("ink", "#16181a"), ("quiet", "#5a6064"), ("faint", "#c9ccca"), ("paper", "#fff"), ("accent", "#a8570b")];
const DARK: Palette =
    [("ink", "#f1efe8"), ("quiet", "#b4b5b0"), ("faint", "#5b5f61"), ("paper", "#14181a"), ("accent", "#e0a33a")];
const BLACK: Palette = [("ink", "#000"), ("quiet", "#000"), ("faint", "#ddd"), ("paper", "#fff"), ("accent", "#999")];

/// The style with its colours put in: what draws files and paper often knows no variables.
fn with(palette: &Palette) -> String {
    let rules = STYLE.split_once('\n').map_or(STYLE, |(_, rest)| rest);
    palette.iter().fold(rules.to_owned(), |s, (name, colour)| s.replace(&format!("var(--{name})"), colour))
}

/// The style element of a theme, empty for a page.
pub fn element(theme: Theme) -> String {
    match theme {
        Theme::Page => String::new(),
        Theme::File => {
            format!("<style>{}@media (prefers-color-scheme:dark){{{}}}</style>", with(&LIGHT), with(&DARK))
        }
        Theme::Print => format!("<style>{}</style>", with(&BLACK)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_and_paper_know_no_variables() {
        for theme in [Theme::File, Theme::Print] {
            let style = element(theme);
            assert!(style.contains(".plate{") && !style.contains("var(") && !style.contains("--"), "{style}");
        }
    }

    #[test]
    fn the_page_has_the_colours_of_the_file() {
        for (name, colour) in LIGHT {
            assert!(STYLE.contains(&format!("--{name}:var(--drawing-{name},{colour})")), "{name}");
        }
    }
}
