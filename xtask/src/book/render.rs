//! One page as HTML: headings with anchors, links within the book, files that go with it, words for the search.

use std::collections::{BTreeMap, BTreeSet};

use pulldown_cmark::{CowStr, Event, Options, Parser, Tag, TagEnd, html};

use super::contents::{Contents, beside};

/// A rendered page.
#[derive(Default)]
pub(super) struct Page {
    pub(super) html: String,
    pub(super) anchors: BTreeSet<String>,
    /// Anchors on pages of the book that it points at.
    pub(super) jumps: Vec<(String, String)>,
    /// Files that go with it: path below the root, path in the book.
    pub(super) files: BTreeMap<String, String>,
    /// Anchor, heading and words of each section.
    pub(super) sections: Vec<(String, String, String)>,
    pub(super) faults: Vec<String>,
}

/// The anchor of a heading: lower case, words joined by hyphens, punctuation dropped.
fn slug(text: &str) -> String {
    text.to_lowercase()
        .chars()
        .filter_map(|c| match c {
            ' ' | '-' => Some('-'),
            c if c.is_alphanumeric() || c == '_' => Some(c),
            _ => None,
        })
        .collect()
}

/// Follows a link from a page.
fn follow(link: &str, source: &str, contents: &Contents, page: &mut Page, own: &str) -> String {
    if link.starts_with("http://") || link.starts_with("https://") || link.starts_with("mailto:") {
        return link.to_owned();
    }
    let (path, anchor) = link.split_once('#').map_or((link, None), |(p, a)| (p, Some(a)));
    let folder = source.rsplit_once('/').map_or("", |(f, _)| f);
    let whole = if path.is_empty() { source.to_owned() } else { beside(folder, path) };
    if let Some(target) = if path.is_empty() { Some(own) } else { contents.target(&whole) } {
        if let Some(a) = anchor {
            page.jumps.push((target.to_owned(), a.to_owned()));
            return format!("{target}#{a}");
        }
        return target.to_owned();
    }
    if path.ends_with('/') || !whole.contains('.') {
        page.faults.push(format!("`{link}` is a folder; a book links to files"));
        return link.to_owned();
    }
    let to = format!("files/{whole}");
    page.files.insert(whole, to.clone());
    to
}

pub(super) fn render(text: &str, source: &str, contents: &Contents) -> Page {
    let mut page = Page::default();
    let own = contents.target(source).unwrap_or_default().to_owned();
    let events: Vec<Event<'_>> = Parser::new_ext(
        text,
        Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH | Options::ENABLE_FOOTNOTES,
    )
    .collect();
    let mut out: Vec<Event<'_>> = Vec::new();
    let mut words = String::new();
    let mut now: Option<(String, String)> = None;
    for (k, event) in events.iter().enumerate() {
        match event {
            Event::Start(Tag::Heading { level, .. }) => {
                let inside =
                    events[k + 1..].iter().take_while(|e| !matches!(e, Event::End(TagEnd::Heading(_))));
                let head: String = inside
                    .filter_map(|e| match e {
                        Event::Text(t) | Event::Code(t) => Some(t.as_ref()),
                        _ => None,
                    })
                    .collect();
                if let Some((anchor, title)) = now.take() {
                    page.sections.push((anchor, title, std::mem::take(&mut words)));
                }
                let mut anchor = slug(&head);
                let mut n = 1;
                while !page.anchors.insert(anchor.clone()) {
                    anchor = format!("{}-{n}", slug(&head));
                    n += 1;
                }
                now = Some((anchor.clone(), head));
                out.push(Event::Html(CowStr::from(format!("<{level} id=\"{anchor}\">"))));
            }
            Event::End(TagEnd::Heading(level)) => {
                out.push(Event::Html(CowStr::from(format!("</{level}>\n"))))
            }
            Event::Start(Tag::Link { link_type, dest_url, title, id }) => {
                let dest_url = CowStr::from(follow(dest_url, source, contents, &mut page, &own));
                out.push(Event::Start(Tag::Link {
                    link_type: *link_type,
                    dest_url,
                    title: title.clone(),
                    id: id.clone(),
                }));
            }
            Event::Start(Tag::Image { link_type, dest_url, title, id }) => {
                let dest_url = CowStr::from(follow(dest_url, source, contents, &mut page, &own));
                out.push(Event::Start(Tag::Image {
                    link_type: *link_type,
                    dest_url,
                    title: title.clone(),
                    id: id.clone(),
                }));
            }
            // Wide tables scroll by themselves.
            Event::Start(Tag::Table(_)) => {
                out.push(Event::Html(CowStr::from("<div class=\"wide\" tabindex=\"0\">")));
                out.push(event.clone());
            }
            Event::End(TagEnd::Table) => {
                out.push(event.clone());
                out.push(Event::Html(CowStr::from("</div>\n")));
            }
            Event::Text(t) | Event::Code(t) => {
                words.push_str(t);
                words.push(' ');
                out.push(event.clone());
            }
            other => out.push(other.clone()),
        }
    }
    if let Some((anchor, title)) = now {
        page.sections.push((anchor, title, words));
    }
    html::push_html(&mut page.html, out.into_iter());
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn anchors_are_those_that_links_use() {
        assert_eq!(slug("What λ is"), "what-λ-is");
        assert_eq!(slug("The page: the server's part"), "the-page-the-servers-part");
        assert_eq!(slug("Snap ratio (F1−F2)/F1"), "snap-ratio-f1f2f1");
    }
}
