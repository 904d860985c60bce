/** The live page: asks the daemon, shows what it says, and asks again when something happened. */

const NAMES = { conductivity: 'EC', ph: 'pH', level: 'Level', temperature: 'Temperature' }
const DIGITS = { conductivity: 2, ph: 2, level: 0, temperature: 1 }
const REFRESH_MS = 10_000
/** Many events in a row are one reason to ask, not many. */
const AFTER_EVENT_MS = 1000
const SVG = 'http://www.w3.org/2000/svg'

const byId = (id) => document.getElementById(id)

/** An element with a class, attributes and children; text is always text, whatever a file or a message says. */
function make(tag, { className, ...attributes } = {}, ...children) {
  const node = document.createElement(tag)
  if (className) node.className = className
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value)
  node.append(...children)
  return node
}

function timeOf(atMs) {
  const moment = new Date(atMs)
  return make(
    'time',
    { datetime: moment.toISOString() },
    moment.toLocaleString([], { dateStyle: 'short', timeStyle: 'short' }),
  )
}

function showReadings(readings) {
  const items = readings.map((reading) => {
    const value = reading.value === undefined ? '–' : reading.value.toFixed(DIGITS[reading.quantity])
    const shown = make(
      'dd',
      { className: reading.abnormal ? 'abnormal' : '' },
      `${value} `,
      make('small', {}, reading.unit),
    )
    if (reading.abnormal) shown.append(make('small', {}, ` ${reading.abnormal}`))
    return make('div', {}, make('dt', {}, NAMES[reading.quantity]), shown)
  })
  byId('readings').replaceChildren(...items)
}

/** Where an estimate stands against its band, in words. */
function standing({ mgPerL, band }) {
  if (!band) return 'no band'
  const edges = `${amount(band.lowMgPerL)} to ${amount(band.highMgPerL)}`
  if (mgPerL < band.lowMgPerL) return `▼ below ${edges}`
  return mgPerL > band.highMgPerL ? `▲ above ${edges}` : `in ${edges}`
}

function amount(mgPerL) {
  return mgPerL >= 10 ? mgPerL.toFixed(0) : mgPerL.toPrecision(2)
}

function showEstimate(estimate) {
  const rows = Object.entries(estimate?.elements ?? {}).map(([name, element]) => {
    const { mgPerL, sdMgPerL, band } = element
    const outside = band && (mgPerL < band.lowMgPerL || mgPerL > band.highMgPerL)
    return make(
      'tr',
      { className: outside ? 'abnormal' : '' },
      make('th', { scope: 'row' }, name),
      make('td', {}, `${amount(mgPerL)} ± ${amount(sdMgPerL)}`),
      make('td', {}, standing(element)),
      make('td', { className: 'bar-column' }, bar(element)),
    )
  })
  byId('elements').replaceChildren(...rows)
  const note = estimate
    ? `About ${estimate.volumeL.toFixed(0)} L. ± is one standard deviation.`
    : 'No estimate yet: it needs the first readings.'
  byId('estimate-note').textContent = note
}

/** The band as an area, the estimate as a mark on its spread; the words beside it say the same. */
function bar({ mgPerL, sdMgPerL, band }) {
  const most = Math.max(mgPerL + 2 * sdMgPerL, band ? band.highMgPerL * 1.25 : 0) || 1
  const at = (value) => (Math.min(Math.max(value / most, 0), 1) * 100).toFixed(2)
  const svg = shape('svg', { viewBox: '0 0 100 10', preserveAspectRatio: 'none', 'aria-hidden': 'true' })
  if (band) {
    const width = Number(at(band.highMgPerL)) - Number(at(band.lowMgPerL))
    svg.append(shape('rect', { class: 'band', x: at(band.lowMgPerL), y: 0, width, height: 10 }))
  }
  svg.append(
    shape('line', { class: 'track', x1: 0, y1: 5, x2: 100, y2: 5 }),
    shape('line', { class: 'spread', x1: at(mgPerL - sdMgPerL), y1: 5, x2: at(mgPerL + sdMgPerL), y2: 5 }),
    shape('rect', { class: 'mark', x: Number(at(mgPerL)) - 0.5, y: 1, width: 1, height: 8 }),
  )
  return svg
}

function shape(tag, attributes) {
  const node = document.createElementNS(SVG, tag)
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value)
  return node
}

function showDoses(doses) {
  const items = doses.map((dose) => {
    const when = dose.atMs === undefined ? [] : [timeOf(dose.atMs), ' ']
    return make('li', {}, ...when, `${amount(dose.volumeMl)} mL ${dose.stock}: ${dose.reason}`)
  })
  byId('doses').replaceChildren(...(items.length > 0 ? items : [make('li', {}, 'None.')]))
}

function showTrouble({ alarms, trips }) {
  const lines = [
    ...trips.map(({ trip, why }) => `Tripped, ${trip}: ${why}`),
    ...alarms
      .filter((alarm) => alarm.state !== 'normal')
      .map((alarm) => `${alarm.priority}: ${alarm.text} (${alarm.state})`),
  ]
  byId('alarms').hidden = lines.length === 0
  if (byId('alarm-list').textContent === lines.join('')) return
  byId('alarm-list').replaceChildren(...lines.map((line) => make('li', { className: 'abnormal' }, line)))
}

function showStatus(status) {
  byId('reservoir').textContent = `${status.reservoir}, ${status.mode}${status.held ? ', held' : ''}`
  document.title = `${status.held ? 'Held: ' : ''}${status.reservoir}`
  if (byId('sentence').textContent !== status.sentence) byId('sentence').textContent = status.sentence
  byId('hold').disabled = status.held
  byId('hold').textContent = status.held ? 'Dosing is stopped' : 'Stop dosing'
  showReadings(status.readings)
  showTrouble(status)
  showDoses(status.nextDoses)
  const events = [...status.events].reverse().map((event) => make('li', {}, timeOf(event.atMs), ` ${event.text}`))
  byId('events').replaceChildren(...events)
}

function showConnection(text) {
  byId('connection').hidden = text === ''
  byId('connection').className = 'abnormal'
  byId('connection').textContent = text
}

async function refresh() {
  try {
    const [status, estimate] = await Promise.all([fetch('api/status'), fetch('api/estimate')])
    if (!status.ok) throw new Error(`status ${status.status}`)
    showStatus(await status.json())
    showEstimate(estimate.ok ? await estimate.json() : undefined)
    showConnection('')
  } catch {
    showConnection('The daemon does not answer. What is shown here is old.')
  }
}

async function post(path, body) {
  const answer = await send(path, body)
  if (answer.status !== 401) return { ok: answer.ok, body: await answer.json() }
  const token = window.prompt('This needs your token (tarnward token create):')
  if (!token) return { ok: false, body: await answer.json() }
  await send('api/session', { token: token.trim() })
  const again = await send(path, body)
  return { ok: again.ok, body: await again.json() }
}

function send(path, body) {
  return fetch(path, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
  })
}

byId('hold').addEventListener('click', async () => {
  byId('hold').disabled = true
  try {
    const { ok, body } = await post('api/hold', { by: 'page', reason: 'stopped on the page' })
    if (!ok) throw new Error(body.detail)
  } catch (error) {
    byId('hold').disabled = false
    showConnection(`Dosing was not stopped: ${error.message}. Switch the pumps off at the wall.`)
    return
  }
  await refresh()
})

byId('laboratory').addEventListener('submit', async (submission) => {
  submission.preventDefault()
  const file = byId('laboratory-file').files[0]
  const sampledAt = new Date(byId('laboratory-sampled').value).toISOString()
  const answer = byId('laboratory-answer')
  try {
    const { body } = await post('api/laboratory', {
      fileName: file.name,
      text: await file.text(),
      sampledAt,
      by: 'page',
    })
    answer.textContent = [
      body.text ?? body.detail ?? 'Kept for a person to look at.',
      ...(body.why ?? body.errors ?? []),
    ].join(' ')
  } catch (error) {
    answer.textContent = `Not sent: ${error.message}`
  }
})

let asking = false
new EventSource('api/events').addEventListener('message', () => {
  if (asking) return
  asking = true
  setTimeout(() => {
    asking = false
    refresh()
  }, AFTER_EVENT_MS)
})
setInterval(refresh, REFRESH_MS)
refresh()
