/**
 * The daemon on a site file and a real broker as `tarnward run` wires it, but on a scaled clock. The command itself
 * never runs faster than the wall: with real pumps a minute of the limits would then be a second.
 *   node --import tsx tests/support/acceptance/scaled-daemon.ts SITE-FILE STATE-FOLDER SCALE START-MS EPOCH-MS
 * EPOCH-MS is the wall time at which its clock showed START-MS, so that a second life goes on where the first one was.
 */

import { loadConfiguration } from '../../../src/config/load-configuration.ts'
import { TOPIC_PREFIX } from '../../../src/contract/topic.ts'
import { createScaledClock } from '../../../src/shell/clock.ts'
import { startDaemon } from '../../../src/shell/daemon.ts'
import { createLog } from '../../../src/shell/log.ts'
import { HANGS_AFTER_MS } from '../../../src/shell/loop-options.ts'
import { createMqttLink } from '../../../src/shell/mqtt.ts'

const [siteFile = '', stateFolder = '', scaleText, startText, epochText] = process.argv.slice(2)
const scale = Number(scaleText)
const read = await loadConfiguration(siteFile)
if (!read.ok) throw new Error(JSON.stringify(read.errors))
const { configuration } = read
const { site, link } = configuration.site
const base = `${TOPIC_PREFIX}/${site}`
const clock = createScaledClock(scale, Number(startText) + (Date.now() - Number(epochText)) * scale)
const log = createLog({ pretty: true })
const mqttLink = createMqttLink({
  url: link.broker ?? '',
  base,
  clientId: `tarnward-${site}`,
  onNote: (level, text) => log[level](text),
})
const daemon = await startDaemon({
  ...{ configuration, stateFolder, clock, log, version: 'test' },
  link: mqttLink,
  leaseMs: link.leaseS * 1000,
  hangsAfterMs: HANGS_AFTER_MS * scale,
  publishState: (suffix, json) => mqttLink.publishState(suffix, json),
  onFatal: (why) => {
    log.error(why)
    process.exit(1)
  },
})
log.info('the daemon keeps the site')
process.once('SIGTERM', () => void daemon.stop().then(() => process.exit(0)))
