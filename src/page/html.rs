//! Tables of figures in markup.

use crate::markup::content;
use crate::report::{Column, TextTable};

/// How a text is written in markup.
pub type Written<'w> = &'w dyn Fn(&str) -> String;

/// Returns a table called `name` with a heading of one row, the first column being the rows' names: headings and names as
/// `heading` and `row_name` write them.
pub fn table(name: &str, table: &TextTable, heading: Written<'_>, row_name: Written<'_>) -> String {
    table_written(name, table, heading, row_name, &content)
}

/// Returns the same with all other cells as `other` writes them.
pub fn table_written(
    name: &str,
    table: &TextTable,
    heading: Written<'_>,
    row_name: Written<'_>,
    other: Written<'_>,
) -> String {
    let cell = |tag: &str, scope: &str, number: bool, text: String| {
        let class = if number { " class=\"n\"" } else { "" };
        format!("<{tag}{scope}{class}>{text}</{tag}>")
    };
    let numbers: Vec<bool> = table.columns().iter().map(Column::is_numbers).collect();
    let heads =
        table.columns().iter().map(|c| cell("th", " scope=\"col\"", c.is_numbers(), heading(&c.title())));
    let row = |cells: &Vec<String>| -> String {
        let cells = cells.iter().zip(&numbers).enumerate().map(|(i, (text, number))| match i {
            0 => cell("th", " scope=\"row\"", *number, row_name(text)),
            _ => cell("td", "", *number, other(text)),
        });
        format!("<tr>{}</tr>\n", cells.collect::<String>())
    };
    let rows: String = table.rows().iter().map(row).collect();
    format!(
        "<div class=\"scroll\" role=\"region\" aria-label=\"{name}\" tabindex=\"0\"><table>\n<thead><tr>{}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table></div>\n",
        heads.collect::<String>()
    )
}
