"""One file for each subcommand of ``gussetry``; ``studies.command`` lists them."""
