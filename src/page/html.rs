//! Tables of figures in markup.

use crate::markup::content;
use crate::report::{Column, Table};

/// Returns a table called `name` with a heading of one row, the first column being the rows' names.
pub(super) fn table(name: &str, table: &Table) -> String {
    let cell = |tag: &str, scope: &str, number: bool, text: &str| {
        let class = if number { " class=\"n\"" } else { "" };
        format!("<{tag}{scope}{class}>{}</{tag}>", content(text))
    };
    let numbers: Vec<bool> = table.columns().iter().map(Column::is_numbers).collect();
    let heads = table.columns().iter().map(|c| cell("th", " scope=\"col\"", c.is_numbers(), &c.title()));
    let row = |cells: &Vec<String>| -> String {
        let cells = cells.iter().zip(&numbers).enumerate().map(|(i, (text, number))| match i {
            0 => cell("th", " scope=\"row\"", *number, text),
            _ => cell("td", "", *number, text),
        });
        format!("<tr>{}</tr>\n", cells.collect::<String>())
    };
    let rows: String = table.rows().iter().map(row).collect();
    format!(
        "<div class=\"scroll\" role=\"region\" aria-label=\"{name}\" tabindex=\"0\"><table>\n<thead><tr>{}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table></div>\n",
        heads.collect::<String>()
    )
}
