import type { JSX } from 'preact'
import { useEffect, useRef, useState } from 'preact/hooks'
import { usePreferences } from '../../data/preferences.ts'
import { tellNumber, tellVolume } from '../../data/quantity.ts'
import { useTelling } from '../../data/telling.ts'
import { Choice, Input } from '../../parts/field.tsx'
import { Caution, Failure } from '../../parts/notice.tsx'
import type { DeskProps } from '../desk-view.tsx'
import type { RecipeAnswer } from './answers.ts'
import { DeskElements } from './desk-elements.tsx'
import { WaterChoice, type WaterGiven } from './water-choice.tsx'
import { cropOptions } from './water-desk.tsx'

/** Solved again this soon after a hand rests: fast enough to feel it, slow enough not to solve every pixel. */
const REST_MS = 120

/** Which salts, and how much of each: move any amount by hand and all others are solved again. */
export function RecipeDesk({ choices }: DeskProps): JSX.Element {
  const preferences = usePreferences()
  const [crop, setCrop] = useState(choices.crops[0]?.id ?? '')
  const [stage, setStage] = useState('full')
  const [water, setWater] = useState<WaterGiven>('reverse-osmosis')
  const [volume, setVolume] = useState(preferences.volume === 'L' ? '1000' : '250')
  const [acid, setAcid] = useState('')
  const [pins, setPins] = useState<Readonly<Record<string, number>>>({})
  const telling = useTelling<RecipeAnswer>({ keepsAnswer: true })
  const body = {
    ...{ crop, stage, water, volume: `${volume}${preferences.volume}` },
    pin: Object.entries(pins).map(([name, gPerL]) => `${name}=${gPerL} g/L`),
    ...(acid === '' ? {} : { acid }),
  }
  const wanted = JSON.stringify(body)
  useEffect(() => {
    const timer = setTimeout(() => telling.run('/api/desk/recipe', JSON.parse(wanted)), REST_MS)
    return () => clearTimeout(timer)
  }, [wanted])
  return (
    <section aria-labelledby="recipe-title">
      <h2 id="recipe-title">Recipe</h2>
      <div class="fields">
        <Choice label="Crop" value={crop} onValue={setCrop} options={cropOptions(choices)} />
        <Choice
          label="Stage"
          value={stage}
          onValue={setStage}
          options={['seedling', 'young', 'full'].map((name) => ({ value: name, text: name }))}
        />
        <WaterChoice choices={choices} value={water} onValue={setWater} />
        <Input label="Volume" type="number" min={1} value={volume} onValue={setVolume} unit={preferences.volume} />
        <Choice
          label="Acid"
          value={acid}
          onValue={setAcid}
          options={['', ...choices.acids].map((name) => ({ value: name, text: name === '' ? 'none' : name }))}
        />
      </div>
      <Failure lines={telling.failure} />
      {telling.answer === null ? null : (
        <div class="columns">
          <Amounts answer={telling.answer} pins={pins} onPins={setPins} />
          <div>
            <h3>What it makes, {preferences.concentration}</h3>
            <DeskElements
              elements={telling.answer.elements.map((element) => ({ ...element, mgPerL: element.totalMgPerL }))}
            />
            <Outcome answer={telling.answer} />
          </div>
        </div>
      )}
    </section>
  )
}

interface AmountsProps {
  readonly answer: RecipeAnswer
  readonly pins: Readonly<Record<string, number>>
  readonly onPins: (pins: Readonly<Record<string, number>>) => void
}

/** Beyond twice what was solved first a slider is of no use; a small salt still gets a gram of room. */
const SLIDER_SPAN = 2
const SLIDER_LEAST_G_PER_L = 0.02

function Amounts({ answer, pins, onPins }: AmountsProps): JSX.Element {
  const volume = tellVolume(answer.volumeL, usePreferences())
  // The end of a slider stays where it was while a hand moves it.
  const ends = useRef<Record<string, number>>({})
  const pin = (name: string, gPerL: number) => onPins({ ...pins, [name]: Number(gPerL.toPrecision(4)) })
  for (const { name, gPerL, isPinned } of answer.salts)
    if (!isPinned || ends.current[name] === undefined || gPerL > ends.current[name])
      ends.current[name] = Math.max(gPerL * SLIDER_SPAN, SLIDER_LEAST_G_PER_L)
  return (
    <div>
      <h3>Weigh for {volume}</h3>
      <ul class="lines">
        {answer.salts.map(({ name, g, gPerL, isPinned }) => (
          <li key={name}>
            <div class="amount">
              <span>
                {name} {isPinned ? '(held by hand)' : ''}
              </span>
              <Grams
                label={`${name}, grams for ${volume}`}
                g={g}
                onG={(typedG) => pin(name, typedG / answer.volumeL)}
              />
              <span>g</span>
            </div>
            <input
              type="range"
              aria-label={`${name}, moved`}
              aria-valuetext={`${tellNumber(g)} g`}
              min={0}
              max={ends.current[name]}
              step="any"
              value={gPerL}
              onInput={(event) => pin(name, Number(event.currentTarget.value))}
            />
            {isPinned ? (
              <button
                type="button"
                class="is-plain"
                onClick={() => onPins(Object.fromEntries(Object.entries(pins).filter(([other]) => other !== name)))}
              >
                Let it be solved again
              </button>
            ) : null}
          </li>
        ))}
        {answer.acid === undefined ? null : (
          <li>
            {answer.acid.name}: <strong>{tellNumber(answer.acid.ml)} mL</strong>
          </li>
        )}
      </ul>
      {answer.acid === undefined ? null : (
        <Caution>
          Acid into water, never water into acid; gloves and goggles; never near hypochlorite, peroxide or peracid. The
          label and your local rules go before anything said here.
        </Caution>
      )}
      {Object.keys(pins).length > 1 ? (
        <button type="button" onClick={() => onPins({})}>
          Let all be solved again
        </button>
      ) : null}
    </div>
  )
}

interface GramsProps {
  readonly label: string
  /** what was solved, g */
  readonly g: number
  readonly onG: (g: number) => void
}

/** Digits stay as they are typed until the field is left or Enter pressed: an answer in between would take them away. */
function Grams({ label, g, onG }: GramsProps): JSX.Element {
  const [typed, setTyped] = useState<string | null>(null)
  const take = () => {
    setTyped(null)
    if (typed !== null && typed !== '' && Number(typed) >= 0) onG(Number(typed))
  }
  return (
    <input
      type="number"
      aria-label={label}
      min={0}
      step="any"
      value={typed ?? tellNumber(g)}
      onInput={(event) => setTyped(event.currentTarget.value)}
      onChange={take}
    />
  )
}

function Outcome({ answer }: { readonly answer: RecipeAnswer }): JSX.Element {
  const { ph, alkalinityMeqPerL, conductivityDsPerM } = answer.settled
  return (
    <>
      <p>
        EC {conductivityDsPerM.toFixed(2)} mS/cm, pH {ph.toFixed(1)}, alkalinity {alkalinityMeqPerL.toFixed(2)} meq/L,
        once in balance with the air.
      </p>
      <ul class="lines">
        {answer.unmet.map(({ element, why }) => (
          <li key={element} class="is-abnormal">
            △ {element}: {why}
          </li>
        ))}
        {answer.notes.map((note) => (
          <li key={note} class="quiet">
            {note}
          </li>
        ))}
      </ul>
    </>
  )
}
