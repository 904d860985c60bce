/** Where the page starts. */

import { render } from 'preact'
import { App } from './app.tsx'
import { keepFocus } from './parts/keep-focus.ts'
import { keepFiguresTogether } from './parts/kept-together.ts'

const root = document.getElementById('page')
if (root !== null) {
  root.replaceChildren()
  keepFiguresTogether()
  keepFocus(root)
  render(<App />, root)
}
