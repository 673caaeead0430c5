"""Plans and results as people read them: terminal, Markdown, pages, checklist, record, all from one card.
Nothing is decided here."""
