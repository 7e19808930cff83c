//! The report as one page of HTML: no script, no file beside it, no network.

use std::fmt::Write as _;

use base64::{Engine as _, engine::general_purpose::STANDARD};
use chart::{PRINT, SEMIBOLD};
use sheet::{Block, Report, Table};

/// Text for between tags and in attributes. What HTML cannot hold is left out.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// Black on white and #595959 on white: 21 and 7.0 to 1 (WCAG 2.2, 1.4.3 wants 4.5).
const STYLE: &str = "\
html{background:#fff;color:#000}\
body{font:1rem/1.5 system-ui,sans-serif;max-width:60rem;margin:0 auto;padding:1rem}\
h1{font-size:1.7rem}h2{font-size:1.2rem;margin-top:2.2rem}\
figure{margin:0}svg{display:block;max-width:100%;height:auto}\
table{border-collapse:collapse;margin:.6rem 0}caption{text-align:left;font-weight:600}\
th,td{text-align:left;vertical-align:top;padding:.25rem .9rem .25rem 0;border-bottom:1px solid #595959}\
td,th[scope=row]{overflow-wrap:anywhere}\
summary{cursor:pointer;padding:.6rem 0}\
.wide{overflow-x:auto}\
@media print{body{max-width:none;padding:0;font-size:10pt}h2{break-after:avoid}\
figure,tr{break-inside:avoid}details{display:none}.wide{overflow:visible}}";

/// The family of the charts. A chart's words are as wide as in this font: in another one they would be squeezed or
/// stretched.
const FAMILY: &str = "Carrybeat Sheet";

/// The page, with the charts' font in it. `points` is what the table of a chart is opened by.
pub fn html(report: &Report, lang: &str, points: &str) -> String {
    let title = escaped(&report.title);
    let font = STANDARD.encode(SEMIBOLD);
    let mut out = format!(
        "<!doctype html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\"/>\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; \
         font-src data:\"/>\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n\
         <title>{title}</title>\n<style>@font-face{{font-family:\"{FAMILY}\";font-weight:600;\
         src:url(data:font/ttf;base64,{font})}}{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n",
        escaped(lang),
    );
    for block in &report.blocks {
        // Writing to a String cannot fail.
        let _never = match block {
            Block::Heading(text) => writeln!(out, "<h2>{}</h2>", escaped(text)),
            Block::Paragraph(text) => writeln!(out, "<p>{}</p>", escaped(text)),
            Block::Table(table) => writeln!(out, "{}", table_of(table)),
            Block::Chart(scene, table) => writeln!(
                out,
                "<figure>\n{}</figure>\n<details><summary>{}</summary>\n{}\n</details>",
                scene.svg(&PRINT, &format!("{FAMILY}, sans-serif"), "mm"),
                escaped(points),
                table_of(table),
            ),
        };
    }
    let _never = writeln!(
        out,
        "</main>\n<footer><p>{}</p></footer>\n</body>\n</html>",
        escaped(&report.foot)
    );
    out
}

fn table_of(table: &Table) -> String {
    if table.rows.is_empty() {
        return format!("<p>{}</p>", escaped(&table.none));
    }
    let label = table.columns.first().map_or("", String::as_str);
    let label = if table.title.is_empty() {
        label
    } else {
        &table.title
    };
    // A part that can be scrolled is reached by keyboard.
    let mut out = format!(
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"{}\"><table>",
        escaped(label)
    );
    if !table.title.is_empty() {
        let _never = write!(out, "<caption>{}</caption>", escaped(&table.title));
    }
    out.push_str("<thead><tr>");
    for name in &table.columns {
        let _never = write!(out, "<th scope=\"col\">{}</th>", escaped(name));
    }
    out.push_str("</tr></thead>\n<tbody>\n");
    for row in &table.rows {
        out.push_str("<tr>");
        for (n, cell) in row.iter().enumerate() {
            let cell = escaped(cell);
            let _never = if n == 0 {
                write!(out, "<th scope=\"row\">{cell}</th>")
            } else {
                write!(out, "<td>{cell}</td>")
            };
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody></table></div>");
    out
}
