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

const DARK: &str = "@media (prefers-color-scheme:dark){.drawing{--drawing-ink:#f1efe8;--drawing-quiet:#b4b5b0;\
                    --drawing-faint:#5b5f61;--drawing-paper:#14181a;--drawing-accent:#e0a33a}}";
const PRINT: &str = ".drawing{--drawing-ink:#000;--drawing-quiet:#000;--drawing-faint:#aaa;--drawing-paper:#fff;\
                     --drawing-accent:#999}";

/// The style element of a theme, empty for a page.
pub fn element(theme: Theme) -> String {
    match theme {
        Theme::Page => String::new(),
        Theme::File => format!("<style>{STYLE}{DARK}</style>"),
        Theme::Print => format!("<style>{STYLE}{PRINT}</style>"),
    }
}
