//! What shells, readers of manuals and editors want: completions, a man page, a schema.

use super::Exit;
use super::args::Args;
use super::terminal::Terminal;
use crate::spec;
use clap::CommandFactory;

pub fn completions(terminal: &Terminal, shell: clap_complete::Shell) -> Exit {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Args::command(), "markloft", &mut script);
    terminal.out(&String::from_utf8_lossy(&script));
    Exit::Done
}

/// One page with all commands.
pub fn man(terminal: &Terminal) -> Exit {
    let mut page = Vec::new();
    let command = Args::command();
    let written = clap_mangen::Man::new(command.clone()).render(&mut page).and_then(|()| {
        command.get_subcommands().try_for_each(|command| {
            let named = command.clone().name(format!("markloft-{}", command.get_name()));
            clap_mangen::Man::new(named).render(&mut page)
        })
    });
    // Writing to memory does not fail.
    if written.is_err() {
        return Exit::File;
    }
    terminal.out(&String::from_utf8_lossy(&page));
    Exit::Done
}

/// The JSON Schema of specs, or of the files that they share.
pub fn schema(terminal: &Terminal, shared: bool) -> Exit {
    terminal.out(&format!("{:#}\n", spec::schema(shared)));
    Exit::Done
}
