use std::io;
use std::path::PathBuf;

use clap::{Args, CommandFactory};
use clap_mangen::Man as Page;

use super::{Cli, Exit, Failure, output};

/// `man`.
#[derive(Debug, Args)]
#[command(after_help = "Example: kerfwright man --out man")]
pub struct ManArgs {
    /// Write a page for each command into this folder
    #[arg(short, long, value_name = "DIR", value_hint = clap::ValueHint::DirPath)]
    out: Option<PathBuf>,
}

impl ManArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let mut command = Cli::command();
        // Names the pages of the commands `kerfwright-…`.
        command.build();
        match &self.out {
            None => output::print_bytes(&page(&command).map_err(Failure::Stdout)?)?,
            Some(folder) => {
                let mut commands = vec![("kerfwright.1".to_owned(), command.clone())];
                commands.extend(
                    command
                        .get_subcommands()
                        .filter(|sub| sub.get_name() != "help")
                        .map(|sub| (format!("kerfwright-{}.1", sub.get_name()), sub.clone())),
                );
                let pages: io::Result<Vec<_>> = commands
                    .into_iter()
                    .map(|(name, command)| Ok((name, output::bytes(page(&command)?))))
                    .collect();
                let pages = pages.map_err(|source| Failure::Output {
                    path: folder.clone(),
                    source,
                })?;
                output::write_all(folder, pages)?;
            }
        }
        Ok(Exit::Clean)
    }
}

fn page(command: &clap::Command) -> io::Result<Vec<u8>> {
    let mut page = Vec::new();
    Page::new(command.clone()).render(&mut page)?;
    Ok(page)
}
