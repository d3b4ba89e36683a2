//! Where advice is read.

/// Where advice is read, so that it asks for nothing that is not there: who reads it at a terminal
/// can type an option, who reads it on a page cannot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Told {
    /// At a terminal, where options are typed.
    #[default]
    AtTerminal,
    /// At a terminal, by who compares set-ups: a photo's balance stands after its name, and where
    /// its card is cannot be said.
    AmongSetups,
    /// At a terminal, by who reads a bracket: a photo's balance stands after its name.
    InBracket,
    /// On a page, by somebody who may have no terminal.
    OnPage,
}

impl Told {
    /// The one of two wordings that is for here.
    pub(crate) fn either<'a>(self, at_terminal: &'a str, on_page: &'a str) -> &'a str {
        match self {
            Self::AtTerminal | Self::AmongSetups | Self::InBracket => at_terminal,
            Self::OnPage => on_page,
        }
    }

    /// The one of three wordings on a photo's balance: an option is for all photos of a run, and
    /// where these differ it stands after each one's name.
    pub(crate) fn of_balance<'a>(
        self,
        option: &'a str,
        after_name: &'a str,
        on_page: &'a str,
    ) -> &'a str {
        match self {
            Self::AtTerminal => option,
            Self::AmongSetups | Self::InBracket => after_name,
            Self::OnPage => on_page,
        }
    }

    /// The one of two wordings on where a card is: with the option, or where there is none.
    pub(crate) fn of_area<'a>(self, option: &'a str, without: &'a str) -> &'a str {
        match self {
            Self::AtTerminal | Self::InBracket => option,
            Self::AmongSetups | Self::OnPage => without,
        }
    }
}
