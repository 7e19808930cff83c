//! The structure that a reader hears: which part of which page belongs to what.

use std::num::NonZeroU16;

use krilla::tagging::{
    Identifier, Node as PdfNode, TableHeaderScope, Tag as PdfTag, TagGroup, TagTree,
};

/// What a part is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Tag {
    /// The title, in words.
    Title(String),
    /// A heading, in words.
    Heading(String),
    Paragraph,
    Table,
    Row,
    /// The name of a column.
    ColumnName,
    /// The name of a row.
    RowName,
    Cell,
    /// A chart, with what it shows.
    Figure(String),
}

/// A part and what it is made of; a leaf is a number of something drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Node {
    Leaf(usize),
    Part(Tag, Vec<Self>),
}

/// The tree for the file. `drawn` holds each leaf's place on its page.
pub(crate) fn tree(nodes: &[Node], drawn: &[Identifier], lang: &str) -> TagTree {
    let mut tree = TagTree::new().with_lang(Some(lang.to_owned()));
    let mut document = TagGroup::new(PdfTag::Section);
    for node in nodes {
        if let Some(node) = written(node, drawn) {
            document.push(node);
        }
    }
    tree.push(document);
    tree
}

fn written(node: &Node, drawn: &[Identifier]) -> Option<PdfNode> {
    match node {
        Node::Leaf(n) => drawn.get(*n).map(|id| PdfNode::Leaf(*id)),
        Node::Part(tag, nodes) => {
            let children = nodes.iter().filter_map(|node| written(node, drawn));
            let children: Vec<PdfNode> = children.collect();
            Some(PdfNode::Group(group(tag, children)))
        }
    }
}

fn group(tag: &Tag, children: Vec<PdfNode>) -> TagGroup {
    let level = |n: u16| NonZeroU16::new(n).unwrap_or(NonZeroU16::MIN);
    match tag {
        Tag::Title(text) => {
            TagGroup::with_children(PdfTag::Hn(level(1), Some(text.clone())), children)
        }
        Tag::Heading(text) => {
            TagGroup::with_children(PdfTag::Hn(level(2), Some(text.clone())), children)
        }
        Tag::Paragraph => TagGroup::with_children(PdfTag::P, children),
        Tag::Table => TagGroup::with_children(PdfTag::Table, children),
        Tag::Row => TagGroup::with_children(PdfTag::TR, children),
        Tag::ColumnName => TagGroup::with_children(PdfTag::TH(TableHeaderScope::Column), children),
        Tag::RowName => TagGroup::with_children(PdfTag::TH(TableHeaderScope::Row), children),
        Tag::Cell => TagGroup::with_children(PdfTag::TD, children),
        Tag::Figure(alt) => TagGroup::with_children(PdfTag::Figure(Some(alt.clone())), children),
    }
}
