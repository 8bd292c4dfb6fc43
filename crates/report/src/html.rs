//! The document as one HTML file that needs no network: figures inline, style inline, nothing loaded from anywhere.

use std::fmt::Write as _;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;

use crate::model::{Block, BoxKind, Document, Grid, Inline, Line, Picture};

/// Id of the element that carries the report's data.
pub const DATA: &str = "report-data";

/// Text made safe for content and attributes.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\u{0}'..='\u{8}' | '\u{b}' | '\u{c}' | '\u{e}'..='\u{1f}' | '\u{7f}'..='\u{9f}' => {
                out.push('\u{fffd}')
            }
            c => out.push(c),
        }
    }
    out
}

fn line(l: &Line) -> String {
    let one = |i: &Inline| match i {
        Inline::Text(t) => escape(t),
        Inline::Strong(t) => format!("<strong>{}</strong>", escape(t)),
        Inline::Code(t) => format!("<code>{}</code>", escape(t)),
        Inline::Link { to, text } => format!("<a href=\"#{}\">{}</a>", escape(to), escape(text)),
        Inline::Cite(n) => {
            format!("<a class=\"cite\" href=\"#source-{n}\" aria-label=\"source {n}\">[{n}]</a>")
        }
    };
    l.0.iter().map(one).collect()
}

/// A figure's SVG with every id its own in the page, and as wide as the column allows.
fn inline_svg(p: &Picture) -> String {
    let mine = |svg: &str, before: &str, after: char| {
        let mut out = String::with_capacity(svg.len());
        let mut rest = svg;
        while let Some(at) = rest.find(before) {
            let (head, tail) = rest.split_at(at + before.len());
            out.push_str(head);
            let end = tail.find(after).unwrap_or(tail.len());
            let ids: Vec<String> = tail[..end].split(' ').map(|id| format!("{}-{id}", p.id)).collect();
            out.push_str(&ids.join(" "));
            rest = &tail[end..];
        }
        out.push_str(rest);
        out
    };
    let mut svg = mine(&p.svg, " id=\"", '"');
    for (before, after) in
        [(" aria-labelledby=\"", '"'), ("url(#", ')'), ("xlink:href=\"#", '"'), (" href=\"#", '"')]
    {
        svg = mine(&svg, before, after);
    }
    let start = svg.find("<svg").unwrap_or(0);
    svg.split_off(start)
}

fn table(g: &Grid) -> String {
    let mut out = String::from("<div class=\"scroll\" tabindex=\"0\" role=\"group\"><table>\n");
    let quiet = if g.quiet { " class=\"quiet\"" } else { "" };
    let _ = writeln!(out, "<caption{quiet}>{}</caption>", escape(&g.caption));
    if g.heads.iter().any(|h| !h.is_empty()) {
        out.push_str("<thead><tr>");
        for h in &g.heads {
            let _ = if h.is_empty() {
                write!(out, "<td></td>")
            } else {
                write!(out, "<th scope=\"col\">{}</th>", escape(h))
            };
        }
        out.push_str("</tr></thead>\n");
    }
    out.push_str("<tbody>\n");
    for row in &g.rows {
        out.push_str("<tr>");
        for (i, cell) in row.iter().enumerate() {
            let _ = match i {
                0 => write!(out, "<th scope=\"row\">{}</th>", line(cell)),
                _ => write!(out, "<td>{}</td>", line(cell)),
            };
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody></table></div>\n");
    out
}

fn list(items: &[Line]) -> String {
    let items: String = items.iter().map(|i| format!("<li>{}</li>\n", line(i))).collect();
    format!("<ul>\n{items}</ul>\n")
}

/// A file as a link that holds it.
fn data_link(name: &str, media: &str, bytes: &[u8]) -> String {
    format!(
        "<a download=\"{0}\" href=\"data:{media};base64,{1}\">{0}</a>",
        escape(name),
        STANDARD.encode(bytes)
    )
}

fn block(b: &Block) -> String {
    match b {
        Block::Heading { level, id, text } => {
            format!("<h{level} id=\"{}\">{}</h{level}>\n", escape(id), escape(text))
        }
        Block::Text(l) => format!("<p>{}</p>\n", line(l)),
        Block::List(items) => list(items),
        Block::Facts(rows) => {
            let rows: String = rows
                .iter()
                .map(|(n, v)| format!("<div><dt>{}</dt><dd>{}</dd></div>\n", line(&Line::of(n)), line(v)))
                .collect();
            format!("<dl class=\"facts\">\n{rows}</dl>\n")
        }
        Block::Table(g) => table(g),
        Block::Figure(p) => format!(
            "<figure id=\"{}\">\n<div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"figure {}\">\n{}</div>\n\
             <figcaption><strong>Figure {}.</strong> {}</figcaption>\n</figure>\n",
            p.id,
            p.number,
            inline_svg(p),
            p.number,
            escape(&p.caption)
        ),
        Block::Aside { kind, title, items } => {
            let class = match kind {
                BoxKind::Doubt => "doubt",
                BoxKind::Caution => "caution",
                BoxKind::Note => "note",
            };
            format!(
                "<div class=\"box {class}\" role=\"note\" aria-label=\"{0}\">\n<p class=\"box-title\">{0}</p>\n{1}</div>\n",
                escape(title),
                list(items)
            )
        }
        Block::Numbers(numbers) => {
            let one = |k: &crate::model::KeyNumber| {
                let note = if k.note.is_empty() {
                    String::new()
                } else {
                    format!("<dd class=\"remark\">{}</dd>", escape(&k.note))
                };
                format!(
                    "<div><dt>{}</dt><dd class=\"value\">{}</dd>{note}</div>\n",
                    escape(&k.name),
                    escape(&k.value)
                )
            };
            let all: String = numbers.iter().map(one).collect();
            format!("<dl class=\"numbers\">\n{all}</dl>\n")
        }
        Block::Code { title, text } => format!(
            "<figure class=\"code\"><figcaption>{}</figcaption>\n<pre tabindex=\"0\"><code>{}</code></pre></figure>\n",
            escape(title),
            escape(text)
        ),
        Block::Blank { title, heads, rows } => {
            let heads: Vec<String> =
                heads.iter().map(|h| format!("<th scope=\"col\">{}</th>", escape(h))).collect();
            let row = format!("<tr>{}</tr>\n", "<td>&nbsp;</td>".repeat(heads.len()));
            format!(
                "<table class=\"blank\">\n<caption>{}</caption>\n<thead><tr>{}</tr></thead>\n<tbody>\n{}</tbody></table>\n",
                escape(title),
                heads.concat(),
                row.repeat(*rows)
            )
        }
        Block::Files(files) => {
            let items: String = files
                .iter()
                .map(|f| format!("<li>{}: {}</li>\n", data_link(&f.name, f.media, &f.bytes), escape(&f.what)))
                .collect();
            format!("<ul>\n{items}</ul>\n")
        }
        Block::Sources(entries) => {
            let items: String = entries
                .iter()
                .map(|e| {
                    format!(
                        "<li id=\"{}\" value=\"{}\">{} <span class=\"use\">Here: {}.</span></li>\n",
                        e.id,
                        e.number,
                        escape(&e.text),
                        escape(&e.used_for)
                    )
                })
                .collect();
            format!("<ol class=\"sources\">\n{items}</ol>\n")
        }
    }
}

/// Data inside a script element: no `<` can end it early.
fn data(json: &str) -> String {
    json.replace('<', "\\u003c")
}

/// The document as HTML.
pub fn html(d: &Document) -> String {
    let mut body = String::new();
    let mut open = false;
    for b in &d.blocks {
        if let Block::Heading { level: 2, id, .. } = b {
            if open {
                body.push_str("</section>\n");
            }
            let _ = writeln!(body, "<section aria-labelledby=\"{}\">", escape(id));
            open = true;
        }
        body.push_str(&block(b));
    }
    if open {
        body.push_str("</section>\n");
    }
    let nav = |items: &str| {
        format!(
            "<nav aria-label=\"Contents\">\n<p class=\"nav-title\">Contents</p>\n<ol>\n{items}</ol>\n</nav>\n"
        )
    };
    let contents: String = d
        .chapters()
        .map(|(id, text)| format!("<li><a href=\"#{}\">{}</a></li>\n", escape(id), escape(text)))
        .collect();
    let date = d.date.as_ref().map_or(String::new(), |t| format!("<p class=\"date\">{}</p>\n", escape(t)));
    let held = if d.data.is_empty() {
        String::new()
    } else {
        format!("<script type=\"application/json\" id=\"{DATA}\">{}</script>\n", data(&d.data))
    };
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"generator\" content=\"{made}\">\n<meta name=\"description\" content=\"{answer}\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n\
         <title>{kind}: {title}</title>\n<style>\n{style}</style>\n</head>\n<body>\n\
         <a class=\"skip\" href=\"#content\">Skip to the report</a>\n\
         <header><div>\n<p class=\"kind\">{kind}</p>\n<h1>{title}</h1>\n<p class=\"answer\">{answer}</p>\n{date}</div></header>\n\
         <div class=\"columns{alone}\">\n\
         {nav}\
         <main id=\"content\" tabindex=\"-1\">\n{body}</main>\n</div>\n\
         <footer><p>{made}</p></footer>\n{held}</body>\n</html>\n",
        nav = if d.one_page { String::new() } else { nav(&contents) },
        made = escape(&d.made_by),
        alone = if d.one_page { " alone" } else { "" },
        kind = escape(&d.kind),
        title = escape(&d.title),
        answer = escape(&d.answer),
        style = include_str!("report.css"),
    )
}
