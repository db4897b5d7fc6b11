import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { marked } from 'marked'

/** One page of the handbook as it is served. */
export interface HandbookPage {
  /** Its place below the page folder: "handbook/faults.html". */
  readonly path: string
  readonly html: string
}

const INDEX = 'index'

/**
 * Every Markdown file of a folder as a page that needs nothing from a network: a bench has none. The first heading is its title; links
 * between the files ("faults.md") lead to the pages. Throws Error for a file without a heading.
 */
export function handbookPages(folder: string): readonly HandbookPage[] {
  const names = readdirSync(folder).filter((name) => name.endsWith('.md'))
  return names.map((name) => {
    const text = readFileSync(join(folder, name), 'utf8')
    const title = /^# (.+)$/m.exec(text)?.[1]
    if (title === undefined) throw new Error(`handbook page ${name}: the first heading is missing ("# Title")`)
    const body = marked
      .parse(text, { async: false })
      .replaceAll(/href="([\w-]+)\.md(#[\w-]+)?"/g, 'href="/handbook/$1.html$2"')
    const top = name === `${INDEX}.md` ? '' : '<nav><a href="/handbook">Handbook</a></nav>\n'
    return { path: `handbook/${name.replace(/\.md$/, '.html')}`, html: page(title, `${top}${body}`) }
  })
}

/** Titles come from our own files; what could be taken for markup is not. */
function page(title: string, body: string): string {
  const plain = title.replaceAll('&', '&amp;').replaceAll('<', '&lt;')
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>${plain} - Trimwright handbook</title>
<link rel="icon" href="/handbook/icon.svg" type="image/svg+xml">
<link rel="stylesheet" href="/handbook/handbook.css">
</head>
<body>
<main>
${body}</main>
</body>
</html>
`
}
