//! Where advice is read.

/// Where advice is read, so that it asks for nothing that is not there: who reads it at a terminal
/// can type an option, who reads it on a page cannot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Told {
    /// At a terminal, where options are typed.
    #[default]
    AtTerminal,
    /// On a page, by somebody who may have no terminal.
    OnPage,
}

impl Told {
    /// The one of two wordings that is for here.
    pub(crate) fn either<'a>(self, at_terminal: &'a str, on_page: &'a str) -> &'a str {
        match self {
            Self::AtTerminal => at_terminal,
            Self::OnPage => on_page,
        }
    }
}
