/** Where the page starts. */

import { render } from 'preact'
import { App } from './app.tsx'
import { keepFiguresTogether } from './parts/kept-together.ts'

const root = document.getElementById('page')
if (root !== null) {
  root.replaceChildren()
  keepFiguresTogether()
  render(<App />, root)
}
