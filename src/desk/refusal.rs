//! Why a request is not answered, with the status that says so.

use hyper::StatusCode;

/// What is wrong with a request, in words that the page shows.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(crate) enum Refusal {
    /// The code is missing or wrong. Nothing says which, nor what is there behind it.
    #[error(
        "This address needs its code. Open the address that mirecast desk printed when it was \
         started; each start has a new one."
    )]
    NoCode,
    #[error("There is nothing here.")]
    NotFound,
    #[error("This cannot be asked for in that way.")]
    Method {
        /// What is answered instead.
        allowed: &'static str,
    },
    /// The Host header names another machine: a page elsewhere that got its name to lead here.
    #[error("The desk is not known by that name. Open the address that it printed.")]
    Host,
    #[error("Only the desk's own page may ask for this.")]
    Origin,
    #[error("The size of what is sent must be said beforehand.")]
    Length,
    #[error("This is too large: {megabytes} MB are the most.")]
    TooLarge { megabytes: usize },
    #[error("Too many at once: {most} are the most.")]
    TooMany { most: usize },
    #[error("What was sent came too slowly or not at all. Try again.")]
    TooSlow,
    #[error("What was sent broke off.")]
    BrokenOff,
    #[error("What was sent makes no sense: {0}.")]
    Malformed(String),
    /// The seals are not this run's.
    #[error("These were not read by this run of the desk. Drop the photos again.")]
    Unsealed,
    /// A setting that makes no sense.
    #[error("{}", ended(.0))]
    Unusable(String),
    #[error(
        "Reading this took longer than {seconds} seconds, so it was given up. Try a smaller copy."
    )]
    TooLong { seconds: u64 },
    #[error("A fault in the program stopped this. Nothing else was harmed by it.")]
    Stumbled,
}

/// With a full stop, if nothing else ends it.
fn ended(words: &str) -> String {
    let stop = if words.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{words}{stop}")
}

impl Refusal {
    pub(crate) fn status(&self) -> StatusCode {
        match self {
            Self::NoCode | Self::Origin => StatusCode::FORBIDDEN,
            Self::NotFound => StatusCode::NOT_FOUND,
            Self::Method { .. } => StatusCode::METHOD_NOT_ALLOWED,
            Self::Host => StatusCode::MISDIRECTED_REQUEST,
            Self::Length => StatusCode::LENGTH_REQUIRED,
            Self::TooLarge { .. } | Self::TooMany { .. } => StatusCode::PAYLOAD_TOO_LARGE,
            Self::TooSlow => StatusCode::REQUEST_TIMEOUT,
            Self::BrokenOff | Self::Malformed(_) => StatusCode::BAD_REQUEST,
            Self::Unsealed => StatusCode::CONFLICT,
            Self::Unusable(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Stumbled => StatusCode::INTERNAL_SERVER_ERROR,
            Self::TooLong { .. } => StatusCode::SERVICE_UNAVAILABLE,
        }
    }
}
