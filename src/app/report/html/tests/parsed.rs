//! A page as a conforming parser reads it: html5ever, which follows the WHATWG's HTML standard and tells every
//! parse error.

use std::collections::BTreeMap;

use html5ever::tendril::TendrilSink;
use html5ever::tokenizer::TokenizerOpts;
use html5ever::{ParseOpts, parse_document};
use markup5ever_rcdom::{Handle, NodeData, RcDom};

/// A page.
pub struct Page {
    /// What the parser had to complain of.
    pub faults: Vec<String>,
    /// Every element, in order.
    pub elements: Vec<Element>,
}

/// An element.
pub struct Element {
    /// Its name.
    pub name: String,
    /// Its attributes.
    pub attributes: BTreeMap<String, String>,
    /// All text in it.
    pub text: String,
    above: Vec<String>,
}

impl Page {
    /// Parses a page.
    pub fn parse(page: &str) -> Self {
        let tokenizer = TokenizerOpts { exact_errors: true, ..TokenizerOpts::default() };
        let options = ParseOpts { tokenizer, ..ParseOpts::default() };
        let dom = parse_document(RcDom::default(), options).one(page);
        let faults = dom.errors.borrow().iter().map(ToString::to_string).collect();
        let mut elements = Vec::new();
        gather(&dom.document, &[], &mut elements);
        Self { faults, elements }
    }

    /// The elements of a name.
    pub fn all<'p>(&'p self, name: &str) -> impl Iterator<Item = &'p Element> {
        self.elements.iter().filter(move |element| element.name == name)
    }
}

impl Element {
    /// An attribute.
    pub fn attribute(&self, name: &str) -> Option<&str> {
        self.attributes.get(name).map(String::as_str)
    }

    /// Whether it lies in an element of this name.
    pub fn under(&self, name: &str) -> bool {
        self.above.iter().any(|above| above == name)
    }
}

/// Gathers the elements under a node, and gives its text.
fn gather(node: &Handle, above: &[String], elements: &mut Vec<Element>) -> String {
    match &node.data {
        NodeData::Text { contents } => contents.borrow().to_string(),
        NodeData::Element { name, attrs, .. } => {
            let name = name.local.to_string();
            let attributes =
                attrs.borrow().iter().map(|a| (a.name.local.to_string(), a.value.to_string())).collect();
            let at = elements.len();
            elements.push(Element {
                name: name.clone(),
                attributes,
                text: String::new(),
                above: above.to_vec(),
            });
            let under: Vec<String> = above.iter().cloned().chain([name]).collect();
            let text = children(node, &under, elements);
            elements[at].text.clone_from(&text);
            text
        }
        _ => children(node, above, elements),
    }
}

fn children(node: &Handle, above: &[String], elements: &mut Vec<Element>) -> String {
    node.children.borrow().iter().map(|child| gather(child, above, elements)).collect()
}
