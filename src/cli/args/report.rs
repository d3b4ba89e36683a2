//! The argument that asks for a page.

use std::path::PathBuf;

use clap::Args;

/// Whether results go to a page too.
#[derive(Debug, Clone, Args)]
pub(crate) struct ReportArguments {
    /// Write the results to FILE too, as a page to look at, mail and print
    ///
    /// One HTML file with all pictures in it; it loads nothing.
    #[arg(long, value_name = "FILE.html")]
    pub(crate) report: Option<PathBuf>,
}
