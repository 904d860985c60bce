/**
 * Property tests draw from one seed, so that a red run can be run again and a green one means the same everywhere.
 * TARNWARD_SEED draws others.
 */

import fc from 'fast-check'

fc.configureGlobal({ seed: Number(process.env['TARNWARD_SEED'] ?? 20_260_302) })
